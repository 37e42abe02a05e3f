-- reading_errors: how far a reading of a measure with an instrument can be trusted.
-- The part that differs from reading to reading comes from the finest step written (u = step / sqrt 12); the part
-- common to all readings of one instrument from its largest error (rectangular, u = max_error / sqrt 3). An instrument
-- whose error is stated per metre tilts everything it reads by the same angle.
-- grain: one row per measure and instrument
-- key: measure, instrument
-- columns:
--   measure     text    part of the key
--   instrument  text    part of the key; '' where none is named
--   u_random    double  standard uncertainty that differs between readings, in the measure's unit
--   u_common    double  standard uncertainty common to all readings
--   u_tilt      double  standard uncertainty of the tilt, mm per m
with
steps as (
    select measure, coalesce(instrument, '') as instrument, min(step) as step
    from reading_fits
    group by measure, coalesce(instrument, '')
)

-- instruments is unique on instrument, catalogue_measures on name: no row doubles
select
    steps.measure,
    steps.instrument,
    case when catalogue_measures.unit <> 'count' then steps.step / sqrt(12) end as u_random,
    case
        when catalogue_measures.unit = 'count' then cast(null as double)
        when instruments.unit = 'mm/m' then 0.0
        else coalesce(instruments.max_error, 0.0) / sqrt(3)
    end as u_common,
    case when instruments.unit = 'mm/m' then instruments.max_error / sqrt(3) else 0.0 end as u_tilt
from steps
join catalogue_measures on catalogue_measures.name = steps.measure
left join instruments on instruments.instrument = steps.instrument

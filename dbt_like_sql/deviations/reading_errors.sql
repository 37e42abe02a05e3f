-- reading_errors: how far a reading of a measure with an instrument can be trusted.
-- The part that differs from reading to reading comes from repeats where there are enough of them, and is never less
-- than what the finest step written allows (u = step / sqrt 12). The part common to all readings of one instrument
-- comes from its largest error (rectangular, u = max_error / sqrt 3); an error stated as a slope tilts everything the
-- instrument reads by one angle. No instrument named: resolution and repeats only.
-- grain: one row per measure and instrument
-- key: measure, instrument
-- columns:
--   measure       text     part of the key
--   instrument    text     part of the key; '' where none is named
--   u_random      double   standard uncertainty that differs between readings, in the measure's unit; empty for counts
--   u_common      double   standard uncertainty common to all readings, in the measure's unit; empty for counts
--   u_tilt        double   standard uncertainty of the tilt, mm per m; empty for counts
--   step          double   finest decimal place written, in the measure's unit
--   freedom       integer  degrees of freedom of the repeats
--   is_repeated   boolean  u_random rests on repeats, not on the step alone
with
steps as (
    select measure, instrument, min(step) as step
    from reading_fits
    group by measure, instrument
),

-- Ten degrees of freedom hold a standard deviation to about a quarter of itself.
repeats as (
    select measure, instrument, sqrt(squares / nullif(freedom, 0)) as u_repeat, freedom, freedom >= 10 as is_enough
    from repeat_errors
)

-- catalogue_measures is unique on name, instruments on instrument, repeats on both: no row doubles
select
    steps.measure,
    steps.instrument,
    case when catalogue_measures.unit <> 'count' then greatest(
        steps.step / sqrt(12), coalesce(case when repeats.is_enough then repeats.u_repeat end, 0.0)
    ) end as u_random,
    case
        when catalogue_measures.unit = 'count' then cast(null as double)
        when instruments.unit = catalogue_measures.unit then coalesce(instruments.max_error, 0.0) / sqrt(3)
        else 0.0
    end as u_common,
    case
        when catalogue_measures.unit = 'count' then cast(null as double)
        when instruments.unit = 'mm/m' then coalesce(instruments.max_error, 0.0) / sqrt(3)
        else 0.0
    end as u_tilt,
    steps.step,
    coalesce(repeats.freedom, 0) as freedom,
    coalesce(repeats.is_enough and repeats.u_repeat > steps.step / sqrt(12), false) as is_repeated
from steps
join catalogue_measures on catalogue_measures.name = steps.measure
left join instruments on instruments.instrument = steps.instrument
left join repeats on repeats.measure = steps.measure and repeats.instrument = steps.instrument

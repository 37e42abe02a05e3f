-- sill_shapes: bow of the sill against its chord, and its fall towards the inside.
-- grain: one row per install_id and deviation
-- key: install_id, deviation
-- columns:
--   install_id   text     part of the key
--   deviation    text     part of the key
--   value        double   in the deviation's unit; empty where there are too few readings
--   unclipped    double   the same before it was cut at 0; empty where nothing is cut
--   uncertainty  double   standard uncertainty; empty for counts and shares
--   readings     integer  readings behind it
--   undated      integer  of these, undated
with
fitted as (
    select reading_fits.*, member_fits.u_random, member_fits.u_reading
    from reading_fits
    join member_fits
        on member_fits.install_id = reading_fits.install_id
        and member_fits.measure = reading_fits.measure
        and member_fits.member = reading_fits.member
    where reading_fits.measure in ('sill_height', 'sill_tilt')
)

select
    install_id,
    'sill_chord_bow' as deviation,
    max(chord_bow) as "value",
    cast(null as double) as unclipped,
    -- the chord's ends are readings too: at mid-span they add half a variance
    max(u_random) * sqrt(1.5) as uncertainty,
    cast(sum(n) as bigint) as readings,
    cast(sum(undated) as bigint) as undated
from fitted
where measure = 'sill_height'
group by install_id

union all

select
    install_id,
    'sill_tilt_in' as deviation,
    greatest(-min(low), 0.0) as "value",
    -min(low) as unclipped,
    max(u_reading) as uncertainty,
    cast(sum(n) as bigint) as readings,
    cast(sum(undated) as bigint) as undated
from fitted
where measure = 'sill_tilt'
group by install_id

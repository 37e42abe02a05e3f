-- sill_shapes: bow of the sill against its chord, and its fall towards the inside at the worst place.
-- A fall to the outside counts 0, but stays in unclipped: decisions on limits need the true distance.
-- grain: one row per install_id and deviation
-- key: none
-- kind: view
-- each door: by itself
-- columns:
--   install_id   text     door
--   deviation    text     which one
--   value        double   in the deviation's unit; empty where there are too few readings
--   unclipped    double   the same before it was cut at 0; empty where nothing is cut
--   uncertainty  double   standard uncertainty; empty for counts and shares
--   readings     integer  readings behind it
--   undated      integer  of these, undated
select
    install_id,
    'sill_chord_bow' as deviation,
    max(chord_bow) as "value",
    cast(null as double) as unclipped,
    -- of members as bad as each other the less certain
    arg_max(u_chord_bow, struct_pack(size := chord_bow, u := u_chord_bow)) filter (where chord_bow is not null)
        as uncertainty,
    sum(n) as readings,
    sum(undated) as undated
from member_fits
where measure = 'sill_height'
group by install_id

union all

select
    install_id,
    'sill_tilt_in' as deviation,
    greatest(-min(low), 0.0) as "value",
    -min(low) as unclipped,
    max(sqrt(u_random * u_random + u_common * u_common)) as uncertainty,
    sum(n) as readings,
    sum(undated) as undated
from member_fits
where measure = 'sill_tilt'
group by install_id

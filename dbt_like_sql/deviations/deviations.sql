-- deviations: one number per door and deviation, from what was measured or seen before handover.
-- grain: one row per install_id and deviation that has any reading or check that counts
-- key: install_id, deviation
-- slices: reading_windows
-- each door: by itself
-- columns:
--   install_id   text     part of the key
--   deviation    text     part of the key
--   step         text     step of the work
--   value        double   in the deviation's unit; empty where there are too few readings: not recorded is not zero
--   uncertainty  double   standard uncertainty; empty for checks, counts and shares
--   readings     integer  readings or checks behind it
--   unclipped    double   the value before it was cut at 0; empty where nothing is cut
--   undated      integer  of the readings, undated
with
gathered as (
    select install_id, deviation, "value", unclipped, uncertainty, readings, undated from measured_deviations
    union all
    select install_id, deviation, "value", unclipped, uncertainty, readings, undated from sill_shapes
    union all
    select install_id, deviation, "value", unclipped, uncertainty, readings, undated from frame_shapes
    union all
    select install_id, deviation, "value", unclipped, uncertainty, readings, undated from jamb_shapes
    union all
    select install_id, deviation, "value", unclipped, uncertainty, readings, undated from leaf_shapes
    union all
    select install_id, deviation, "value", unclipped, uncertainty, readings, undated from fixing_layouts
    union all
    select install_id, deviation, "value", unclipped, uncertainty, readings, undated from gap_shortfalls
    union all
    select install_id, deviation, "value", unclipped, uncertainty, readings, undated from tape_misclosures
    union all
    select install_id, deviation, "value", unclipped, uncertainty, readings, undated from check_shares
)

-- catalogue_deviations is unique on name: no row doubles
select
    gathered.install_id,
    gathered.deviation,
    catalogue_deviations.step,
    gathered."value",
    case when gathered."value" is not null then gathered.uncertainty end as uncertainty,
    gathered.readings,
    gathered.unclipped,
    gathered.undated
from gathered
join catalogue_deviations on catalogue_deviations.name = gathered.deviation

-- jamb_shapes: plumb of the jambs in both planes, and the twist between them (lean across the door is one measure,
-- so it has no file). Twist compares slopes over the longer of the two spans, so that a jamb read over part of its
-- height is compared fairly; with equal spans it is the difference of the leans.
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
with
leans as (
    select install_id, measure, member, lean, u_lean, span, n, undated
    from member_fits
    where measure in ('jamb_face', 'jamb_edge')
),

faces as (
    select
        install_id,
        max(case when member = 'left_jamb' then lean end) as left_lean,
        max(case when member = 'left_jamb' then u_lean end) as left_u,
        max(case when member = 'left_jamb' then span end) as left_span,
        max(case when member = 'right_jamb' then lean end) as right_lean,
        max(case when member = 'right_jamb' then u_lean end) as right_u,
        max(case when member = 'right_jamb' then span end) as right_span,
        sum(n) as readings,
        sum(undated) as undated
    from leans
    where measure = 'jamb_face'
    group by install_id
),

scaled as (
    select
        faces.*,
        greatest(left_span, right_span) / nullif(left_span, 0.0) as left_scale,
        greatest(left_span, right_span) / nullif(right_span, 0.0) as right_scale
    from faces
)

select
    install_id,
    'jamb_plumb_error' as deviation,
    max(abs(lean)) as "value",
    cast(null as double) as unclipped,
    -- of jambs that lean alike the less certain; further digits hang on the order in which readings are summed
    arg_max(u_lean, struct_pack(size := round(abs(lean), 9), u := u_lean)) filter (where lean is not null)
        as uncertainty,
    sum(n) as readings,
    sum(undated) as undated
from leans
group by install_id

union all

select
    install_id,
    'jamb_twist' as deviation,
    abs(left_lean * left_scale - right_lean * right_scale) as "value",
    cast(null as double) as unclipped,
    sqrt(power(left_u * left_scale, 2) + power(right_u * right_scale, 2)) as uncertainty,
    readings,
    undated
from scaled

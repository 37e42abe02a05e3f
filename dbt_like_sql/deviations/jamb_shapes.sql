-- jamb_shapes: plumb of the jambs in both planes, lean across the door, and twist between the jambs.
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
    select reading_fits.*, member_fits.u_lean
    from reading_fits
    join member_fits
        on member_fits.install_id = reading_fits.install_id
        and member_fits.measure = reading_fits.measure
        and member_fits.member = reading_fits.member
    where reading_fits.measure in ('jamb_face', 'jamb_edge')
),

faces as (
    select
        install_id,
        max(case when member = 'left_jamb' then lean end) as left_lean,
        max(case when member = 'right_jamb' then lean end) as right_lean,
        max(case when member = 'left_jamb' then u_lean end) as left_u,
        max(case when member = 'right_jamb' then u_lean end) as right_u,
        sum(n) as n,
        sum(undated) as undated
    from fitted
    where measure = 'jamb_face'
    group by install_id
)

select
    install_id,
    'jamb_plumb_error' as deviation,
    max(abs(lean)) as "value",
    cast(null as double) as unclipped,
    arg_max(u_lean, abs(lean)) as uncertainty,
    cast(sum(n) as bigint) as readings,
    cast(sum(undated) as bigint) as undated
from fitted
group by install_id

union all

select
    install_id,
    'jamb_lean_out' as deviation,
    max(abs(lean)) as "value",
    cast(null as double) as unclipped,
    arg_max(u_lean, abs(lean)) as uncertainty,
    cast(sum(n) as bigint) as readings,
    cast(sum(undated) as bigint) as undated
from fitted
where measure = 'jamb_face'
group by install_id

union all

select
    install_id,
    'jamb_twist' as deviation,
    abs(left_lean - right_lean) as "value",
    cast(null as double) as unclipped,
    case when left_lean is not null and right_lean is not null then sqrt(left_u * left_u + right_u * right_u) end
        as uncertainty,
    cast(n as bigint) as readings,
    cast(undated as bigint) as undated
from faces

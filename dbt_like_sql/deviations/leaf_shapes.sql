-- leaf_shapes: the drop of the leaf that drops most, and its split into rotation and racking.
-- drop = (a - b) / 2 x W / W_m, a = lock - hinge over the leaf, b = lock - hinge under it; rotation = side gap
-- (top - bottom) / H_m x W; racking = drop - rotation. W is the leaf's width, W_m and H_m how far apart the gaps were
-- read, else the leaf itself. The split is that of the very leaf that drops most, so the parts add up to the drop; it
-- is empty where that leaf's side gap was not read. Positive is low at the lock side; a door whose leaves all stand
-- high there has a negative drop, and nothing is cut. Two gaps whose stations are not named say nothing of which side
-- is low: they count for no drop.
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
leaves as (
    select
        install_id,
        member,
        max(case when measure = 'head_gap' and is_sided then -difference end) as over_leaf,
        max(case when measure = 'threshold_gap' and is_sided then -difference end) as under_leaf,
        max(case when measure = 'side_gap' and is_sided then difference end) as beside_leaf,
        max(case when measure in ('head_gap', 'threshold_gap') then nullif(span, 0.0) end) as stations_apart,
        max(case when measure = 'side_gap' then nullif(span, 0.0) end) as heights_apart,
        max(case when measure = 'head_gap' then u_random end) as u_over,
        max(case when measure = 'threshold_gap' then u_random end) as u_under,
        max(case when measure = 'side_gap' then u_random end) as u_beside,
        sum(case when measure <> 'side_gap' then n else 0 end) as n_drop,
        sum(case when measure <> 'side_gap' then undated else 0 end) as undated_drop,
        count(case when measure = 'side_gap' then 1 end) as n_beside,
        sum(n) as n_split,
        sum(undated) as undated_split
    from member_fits
    where measure in ('head_gap', 'threshold_gap', 'side_gap')
    group by install_id, member
),

-- staged_installs is unique on install_id: no leaf doubles
sized as (
    select
        leaves.*,
        coalesce(staged_installs.width_mm / nullif(staged_installs.leaves, 0), leaves.stations_apart) as leaf_width,
        coalesce(leaves.heights_apart, staged_installs.height_mm) as leaf_height
    from leaves
    join staged_installs on staged_installs.install_id = leaves.install_id
),

dropped as (
    select
        sized.*,
        coalesce(leaf_width / stations_apart, 1.0) as scale,
        (over_leaf - under_leaf) / 2 * coalesce(leaf_width / stations_apart, 1.0) as total,
        beside_leaf / leaf_height * leaf_width as rotation
    from sized
),

certain as (
    select
        dropped.*,
        sqrt((u_over * u_over + u_under * u_under) / 2) * scale as u_total,
        sqrt(2) * u_beside * leaf_width / leaf_height as u_rotation
    from dropped
),

-- The largest struct is that of the largest total; leaves that drop alike are told apart by their rotation.
doors as (
    select
        install_id,
        max(struct_pack(total := total, rotation := rotation, u_total := u_total, u_rotation := u_rotation))
            filter (where total is not null) as worst,
        sum(n_beside) as n_beside,
        sum(n_drop) as n_drop,
        sum(undated_drop) as undated_drop,
        sum(n_split) as n_split,
        sum(undated_split) as undated_split
    from certain
    group by install_id
)

select
    install_id,
    'leaf_drop' as deviation,
    worst.total as "value",
    cast(null as double) as unclipped,
    worst.u_total as uncertainty,
    n_drop as readings,
    undated_drop as undated
from doors
where n_drop > 0

union all

select
    install_id,
    'leaf_drop_rotation' as deviation,
    worst.rotation as "value",
    cast(null as double) as unclipped,
    worst.u_rotation as uncertainty,
    n_split as readings,
    undated_split as undated
from doors
where n_beside > 0

union all

select
    install_id,
    'leaf_drop_racking' as deviation,
    worst.total - worst.rotation as "value",
    cast(null as double) as unclipped,
    sqrt(worst.u_total * worst.u_total + worst.u_rotation * worst.u_rotation) as uncertainty,
    n_split as readings,
    undated_split as undated
from doors
where n_beside > 0

-- leaf_shapes: tapers of the gaps, and the drop of the worst leaf with its split into rotation and racking.
-- drop = (a - b) / 2 x W / W_m with a = lock - hinge over the leaf, b = lock - hinge under it; rotation drop =
-- (side gap top - bottom) / H_m x W; racking = drop - rotation. The worst leaf is the one that drops most; a leaf whose
-- lock side stands high has a negative drop.
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
sized as (
    select
        install_id,
        case when leaves > 0 then width_mm / leaves end as leaf_width,
        height_mm
    from staged_installs
),

gaps as (
    select
        reading_fits.install_id,
        reading_fits.member,
        max(case when reading_fits.measure = 'head_gap' then -reading_fits.difference end) as over_leaf,
        max(case when reading_fits.measure = 'threshold_gap' then -reading_fits.difference end) as under_leaf,
        max(case when reading_fits.measure = 'side_gap' then reading_fits.difference end) as beside_leaf,
        max(case when reading_fits.measure = 'head_gap'
            then abs(reading_fits.second_position - reading_fits.first_position) end) as stations_apart,
        max(case when reading_fits.measure = 'side_gap'
            then abs(reading_fits.first_position - reading_fits.second_position) end) as heights_apart,
        max(case when reading_fits.measure in ('head_gap', 'threshold_gap') then member_fits.u_random end) as u_gap,
        max(case when reading_fits.measure = 'side_gap' then member_fits.u_random end) as u_side,
        sum(case when reading_fits.measure = 'threshold_gap' then reading_fits.n else 0 end) as n_under,
        sum(case when reading_fits.measure = 'side_gap' then reading_fits.n else 0 end) as n_beside,
        sum(case when reading_fits.measure in ('head_gap', 'threshold_gap') then reading_fits.n else 0 end) as n_gaps,
        sum(reading_fits.undated) as undated
    from reading_fits
    join member_fits
        on member_fits.install_id = reading_fits.install_id
        and member_fits.measure = reading_fits.measure
        and member_fits.member = reading_fits.member
    where reading_fits.measure in ('head_gap', 'threshold_gap', 'side_gap')
    group by reading_fits.install_id, reading_fits.member
),

-- sized is unique on install_id. W_m and H_m are the leaf's own width and height where no places are written.
drops as (
    select
        gaps.*,
        (over_leaf - under_leaf) / 2
            * sized.leaf_width / coalesce(nullif(stations_apart, 0), sized.leaf_width) as total,
        u_gap * sized.leaf_width / coalesce(nullif(stations_apart, 0), sized.leaf_width) as u_total,
        beside_leaf / coalesce(nullif(heights_apart, 0), sized.height_mm) * sized.leaf_width as rotation,
        u_side * sqrt(2) / coalesce(nullif(heights_apart, 0), sized.height_mm) * sized.leaf_width as u_rotation
    from gaps
    join sized on sized.install_id = gaps.install_id
),

doors as (
    select
        install_id,
        max(abs(under_leaf)) as gap_taper,
        max(abs(beside_leaf)) as side_gap_taper,
        max(u_gap) as u_gap,
        max(u_side) as u_side,
        max(total) as leaf_drop,
        arg_max(u_total, total) as u_total,
        -- a leaf without side gaps has no split: arg_max would pass over its empty rotation to another leaf's
        arg_max(coalesce(rotation, 1e300), total) as rotation_or_none,
        arg_max(u_rotation, total) as u_rotation,
        sum(n_under) as n_under,
        sum(n_beside) as n_beside,
        sum(n_gaps) as n_gaps,
        sum(undated) as undated
    from drops
    group by install_id
),

split as (
    select doors.*, case when rotation_or_none < 1e299 then rotation_or_none end as rotation from doors
)

select
    install_id, 'gap_taper' as deviation, gap_taper as "value", cast(null as double) as unclipped,
    case when gap_taper is not null then u_gap * sqrt(2) end as uncertainty,
    cast(n_under as bigint) as readings, cast(undated as bigint) as undated
from split
where n_under > 0

union all

select
    install_id, 'side_gap_taper' as deviation, side_gap_taper as "value", cast(null as double) as unclipped,
    case when side_gap_taper is not null then u_side * sqrt(2) end as uncertainty,
    cast(n_beside as bigint) as readings, cast(undated as bigint) as undated
from split
where n_beside > 0

union all

select
    install_id, 'leaf_drop' as deviation, leaf_drop as "value", cast(null as double) as unclipped,
    case when leaf_drop is not null then u_total end as uncertainty,
    cast(n_gaps as bigint) as readings, cast(undated as bigint) as undated
from split
where n_gaps > 0

union all

select
    install_id, 'leaf_drop_rotation' as deviation, rotation as "value", cast(null as double) as unclipped,
    case when rotation is not null then u_rotation end as uncertainty,
    cast(n_gaps + n_beside as bigint) as readings, cast(undated as bigint) as undated
from split
where n_gaps > 0 and n_beside > 0

union all

select
    install_id, 'leaf_drop_racking' as deviation, leaf_drop - rotation as "value", cast(null as double) as unclipped,
    case when rotation is not null then sqrt(u_total * u_total + u_rotation * u_rotation) end as uncertainty,
    cast(n_gaps + n_beside as bigint) as readings, cast(undated as bigint) as undated
from split
where n_gaps > 0 and n_beside > 0

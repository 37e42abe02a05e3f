-- fixing_layouts: spacing, distance from the corners, number and packing of the fixings of each member.
-- Rules: at least two fixings a member; centres of 600 mm at most, end distance of 250 mm at most, so at least
-- max(2, ceil((L - 2 x 250) / 600) + 1) of them; a packer within 100 mm on each side of a jamb fixing.
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
frames as (
    select
        staged_installs.install_id,
        coalesce(
            max(case when reading_fits.measure = 'frame_width' then reading_fits.total / reading_fits.n end),
            max(staged_installs.width_mm)
        ) as width_mm,
        coalesce(
            max(case when reading_fits.measure = 'frame_height' then reading_fits.total / reading_fits.n end),
            max(staged_installs.height_mm)
        ) as height_mm
    from staged_installs
    left join reading_fits
        on reading_fits.install_id = staged_installs.install_id
        and reading_fits.measure in ('frame_width', 'frame_height')
    group by staged_installs.install_id
),

packers as (
    select install_id, member, places, n, undated
    from reading_fits
    where measure = 'packer'
),

-- frames is unique on install_id, packers on install_id and member
members as (
    select
        fixings.install_id,
        fixings.member,
        fixings.n,
        fixings.undated,
        fixings.gap,
        fixings.places,
        packers.places as packer_places,
        packers.n as n_packers,
        case when fixings.member in ('left_jamb', 'right_jamb') then frames.height_mm else frames.width_mm end
            as length_mm,
        fixings.low,
        fixings.high,
        member_fits.u_random,
        member_fits.u_reading
    from reading_fits as fixings
    join member_fits
        on member_fits.install_id = fixings.install_id
        and member_fits.measure = fixings.measure
        and member_fits.member = fixings.member
    join frames on frames.install_id = fixings.install_id
    left join packers on packers.install_id = fixings.install_id and packers.member = fixings.member
    where fixings.measure = 'fixing'
),

counted as (
    select
        members.*,
        -- a metre rule read to the millimetre must not make 600.0000001 out of 600
        greatest(2, ceil((length_mm - 500) / 600 - 1e-6) + 1) as n_needed,
        case when n_packers > 0 then list_sum_of.bare end as n_bare
    from members
    cross join lateral (
        select cast(
            array_length(list_filter(places, lambda fixing:
                list_min(list_filter(packer_places, lambda packer:
                    packer between fixing - 100.000001 and fixing + 0.000001)) is null
                or list_min(list_filter(packer_places, lambda packer:
                    packer between fixing - 0.000001 and fixing + 100.000001)) is null
            )) as double
        ) as bare
    ) as list_sum_of
)

select
    install_id, 'sill_fixing_spacing' as deviation, max(gap) as "value", cast(null as double) as unclipped,
    case when max(gap) is not null then max(u_random) * sqrt(2) end as uncertainty,
    cast(sum(n) as bigint) as readings, cast(sum(undated) as bigint) as undated
from counted
where member = 'sill'
group by install_id

union all

select
    install_id, 'fixing_spacing' as deviation, max(gap) as "value", cast(null as double) as unclipped,
    case when max(gap) is not null then max(u_random) * sqrt(2) end as uncertainty,
    cast(sum(n) as bigint) as readings, cast(sum(undated) as bigint) as undated
from counted
where member in ('left_jamb', 'right_jamb', 'head')
group by install_id

union all

select
    install_id, 'fixing_corner_distance' as deviation, min(least(low, coalesce(length_mm - high, low))) as "value",
    cast(null as double) as unclipped, max(u_reading) as uncertainty,
    cast(sum(n) as bigint) as readings, cast(sum(undated) as bigint) as undated
from counted
group by install_id

union all

select
    install_id, 'fixing_shortfall' as deviation, sum(greatest(n_needed - n, 0.0)) as "value",
    cast(null as double) as unclipped, cast(null as double) as uncertainty,
    cast(sum(n) as bigint) as readings, cast(sum(undated) as bigint) as undated
from counted
where length_mm is not null
group by install_id

union all

select
    install_id, 'unpackered_fixings' as deviation,
    sum(n_bare) / nullif(sum(case when n_bare is not null then n end), 0) as "value",
    cast(null as double) as unclipped, cast(null as double) as uncertainty,
    cast(sum(n + coalesce(n_packers, 0)) as bigint) as readings, cast(sum(undated) as bigint) as undated
from counted
where member in ('left_jamb', 'right_jamb')
group by install_id

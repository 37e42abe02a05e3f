-- fixing_layouts: spacing of the fixings, their distance from the corners, fixings missing and without packers.
-- Common practice, no source (same figures in NHBC Standards 6.7.11): at most 600 mm apart, the first at most 250 mm
-- from the corner, at least two a member; a packer close to each fixing on both sides, taken as within 100 mm.
-- A member's length is the frame's own where it was read, else the door's; unknown, its shortfall is empty and only the
-- near end counts for the corner. A door whose jambs show no packer at all has none on record: unpackered is empty.
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
lengths as (
    select
        staged_installs.install_id,
        coalesce(max(case when member_fits.measure = 'frame_width' then member_fits.mean end),
            max(staged_installs.width_mm)) as width_mm,
        coalesce(max(case when member_fits.measure = 'frame_height' then member_fits.mean end),
            max(staged_installs.height_mm)) as height_mm
    from staged_installs
    left join member_fits
        on member_fits.install_id = staged_installs.install_id
        and member_fits.measure in ('frame_width', 'frame_height')
    group by staged_installs.install_id
),

packers as (
    select install_id, member, places, n, undated
    from member_fits
    where measure = 'packer' and member in ('left_jamb', 'right_jamb')
),

packed_doors as (
    select install_id, sum(n) as n_packers, sum(undated) as undated_packers
    from packers
    group by install_id
),

-- lengths, packers and packed_doors are unique on what they are joined on: one row per door and member
members as (
    select
        fixings.install_id,
        fixings.member,
        fixings.low,
        fixings.high,
        fixings.gap,
        fixings.n,
        fixings.undated,
        fixings.u_random,
        sqrt(fixings.u_random * fixings.u_random + fixings.u_common * fixings.u_common) as u_reading,
        case when fixings.member in ('head', 'sill') then lengths.width_mm else lengths.height_mm end as length_mm,
        array_length(fixings.places) as n_fixings,
        fixings.places,
        packers.places as packer_places,
        packed_doors.n_packers,
        packed_doors.undated_packers
    from member_fits as fixings
    join lengths on lengths.install_id = fixings.install_id
    left join packers on packers.install_id = fixings.install_id and packers.member = fixings.member
    left join packed_doors on packed_doors.install_id = fixings.install_id
    where fixings.measure = 'fixing'
),

-- 600 mm exactly is a pass, and 100 mm is within: rounding of floats must not fail them
judged as (
    select
        members.*,
        least(low, coalesce(length_mm - high, low)) as corner_mm,
        case when length_mm is not null then
            greatest(greatest(2.0, ceil((length_mm - 2 * 250) / 600 - 1e-6) + 1) - n_fixings, 0.0)
        end as n_missing,
        case when member in ('left_jamb', 'right_jamb') then n_fixings end as n_jamb_fixings,
        case
            when member not in ('left_jamb', 'right_jamb') or n_packers is null then null
            when packer_places is null then n_fixings
            else array_length(list_filter(places, lambda fixing:
                array_length(list_filter(packer_places, lambda packer:
                    fixing - packer >= -1e-6 and fixing - packer <= 100 + 1e-6)) = 0
                or array_length(list_filter(packer_places, lambda packer:
                    packer - fixing >= -1e-6 and packer - fixing <= 100 + 1e-6)) = 0))
        end as n_bare
    from members
)

select
    install_id,
    'sill_fixing_spacing' as deviation,
    max(gap) as "value",
    cast(null as double) as unclipped,
    max(u_random) * sqrt(2) as uncertainty,
    sum(n) as readings,
    sum(undated) as undated
from judged
where member = 'sill'
group by install_id

union all

select
    install_id,
    'fixing_spacing' as deviation,
    max(gap) as "value",
    cast(null as double) as unclipped,
    max(u_random) * sqrt(2) as uncertainty,
    sum(n) as readings,
    sum(undated) as undated
from judged
where member in ('left_jamb', 'right_jamb', 'head')
group by install_id

union all

select
    install_id,
    'fixing_corner_distance' as deviation,
    min(corner_mm) as "value",
    cast(null as double) as unclipped,
    max(u_reading) as uncertainty,
    sum(n) as readings,
    sum(undated) as undated
from judged
group by install_id

union all

select
    install_id,
    'fixing_shortfall' as deviation,
    case when count(n_missing) = count(*) then sum(n_missing) end as "value",
    cast(null as double) as unclipped,
    cast(null as double) as uncertainty,
    sum(n) as readings,
    sum(undated) as undated
from judged
group by install_id

union all

select
    install_id,
    'unpackered_fixings' as deviation,
    1.0 * sum(n_bare) / sum(n_jamb_fixings) as "value",
    cast(null as double) as unclipped,
    cast(null as double) as uncertainty,
    sum(n) + coalesce(max(n_packers), 0) as readings,
    sum(undated) + coalesce(max(undated_packers), 0) as undated
from judged
where member in ('left_jamb', 'right_jamb')
group by install_id

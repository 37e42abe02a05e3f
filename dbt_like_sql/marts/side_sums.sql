-- side_sums: what the readings of each crew come to with their sign, summed over its doors: which way it errs.
-- Signs are those of the axes: seen from inside, to the right, upwards, to the outside.
-- grain: one row per crew, deviation, measure and member with a signed reading
-- key: crew, deviation, measure, member
-- left out: readings whose two ends are not named; the split of a drop where the side gap was not read
-- columns:
--   crew         text     part of the key
--   deviation    text     part of the key: what errs
--   measure      text     part of the key: what was read; the deviation itself where several readings make it
--   member       text     part of the key: left_jamb or right_jamb; '' of what there is once, and of leaves
--   doors        integer  doors with it
--   doors_plus   integer  of these, to the right, up, to the outside; of drops: low at the lock
--   doors_minus  integer  of these, the other way
--   total        double   sum over doors, in the deviation's unit
--   squares      double   sum of squared distances from their mean
with
signed as (
    -- of jambs a lean to the right is +, of sill and head a right end that stands higher, or farther apart
    select
        install_id,
        case
            when measure = 'sill_height' then 'sill_level_error'
            when measure = 'clear_height' then 'head_parallel_error'
            else 'jamb_plumb_error'
        end as deviation,
        measure,
        case when measure in ('jamb_edge', 'jamb_face') then member else '' end as member,
        lean as "value"
    from member_fits
    where
        measure in ('sill_height', 'clear_height')
        or (measure in ('jamb_edge', 'jamb_face') and member in ('left_jamb', 'right_jamb'))

    union all

    select install_id, 'sill_tilt_in' as deviation, measure, '' as member, mean as "value"
    from member_fits
    where measure = 'sill_tilt'

    union all

    -- a rising diagonal is longer where the top has moved to the right
    select install_id, 'frame_diagonal_difference' as deviation, measure, '' as member, difference as "value"
    from member_fits
    where measure = 'frame_diagonal' and is_sided

    union all

    select install_id, deviation, deviation as measure, '' as member, "value"
    from deviations
    where deviation in ('leaf_drop_rotation', 'leaf_drop_racking')

    union all

    -- what decides between hinges and glass: racking less rotation on the same leaf
    select
        install_id,
        'leaf_drop' as deviation,
        'racking_less_rotation' as measure,
        '' as member,
        max(case when deviation = 'leaf_drop_racking' then "value" end)
        - max(case when deviation = 'leaf_drop_rotation' then "value" end) as "value"
    from deviations
    where deviation in ('leaf_drop_rotation', 'leaf_drop_racking')
    group by install_id
),

-- one number a door: leaves and several sills of one door are averaged
by_door as (
    select install_id, deviation, measure, member, avg("value") as "value"
    from signed
    where "value" is not null
    group by install_id, deviation, measure, member
)

-- staged_installs is unique on install_id: no door doubles
select
    staged_installs.crew,
    by_door.deviation,
    by_door.measure,
    by_door.member,
    count(*) as doors,
    count(case when by_door."value" > 1e-9 then 1 end) as doors_plus,
    count(case when by_door."value" < -1e-9 then 1 end) as doors_minus,
    -- their last digits hang on the order of summing
    round(sum(by_door."value"), 6) as total,
    round(var_pop(by_door."value") * count(*), 6) as squares
from by_door
join staged_installs on staged_installs.install_id = by_door.install_id
group by staged_installs.crew, by_door.deviation, by_door.measure, by_door.member

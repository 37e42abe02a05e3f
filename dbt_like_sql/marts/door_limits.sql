-- door_limits: the limit that governs each deviation of a door, gathered in one row.
-- grain: one row per install_id
-- key: install_id
-- left out: deviations without a limit in use on their worse side; of several limits the tighter governs
-- each door: by itself
-- columns:
--   install_id  text      key
--   ordinals    double[]  place of each deviation in catalogue_deviations
--   amounts     double[]  the limits, in the order of ordinals, in the deviation's unit
--   lows        double[]  the lower limits beside them, of deviations that are worse on both sides; else empty
with
-- Signed so that the tightest is the largest. A limit on the better side stops nothing from getting worse.
sided as (
    select
        limit_decisions.install_id,
        catalogue_deviations.ordinal,
        case when catalogue_deviations.worse = 'lower' then 1 else -1 end as sign,
        case
            when catalogue_deviations.worse = 'lower' then limit_decisions.lower_limit
            else -limit_decisions.upper_limit
        end as tightness,
        case when catalogue_deviations.worse = 'both' then limit_decisions.lower_limit end as low
    from limit_decisions
    inner join catalogue_deviations on catalogue_deviations.name = limit_decisions.deviation  -- unique on name
),

governing as (
    select install_id, ordinal, max(sign) * max(tightness) as limit_value, max(low) as low
    from sided
    where tightness is not null
    group by install_id, ordinal
),

-- in order, so that the same limits make the same row every time
gathered as (
    select
        install_id,
        list_sort(list(struct_pack(ordinal := cast(ordinal as double), amount := limit_value, low := low))) as cells
    from governing
    group by install_id
)

select
    install_id,
    list_transform(cells, lambda cell: cell.ordinal) as ordinals,
    list_transform(cells, lambda cell: cell.amount) as amounts,
    list_transform(cells, lambda cell: cell.low) as lows
from gathered

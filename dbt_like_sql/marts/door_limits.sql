-- door_limits: the limit that governs each deviation of a door, gathered in one row.
-- grain: one row per install_id
-- key: install_id
-- left out: deviations without a limit in use; of several limits of one deviation the tighter governs
-- columns:
--   install_id  text      key
--   ordinals    double[]  place of each deviation in catalogue_deviations
--   amounts     double[]  the limits, in the order of ordinals, in the deviation's unit
with
governing as (
    select
        limit_decisions.install_id,
        catalogue_deviations.ordinal,
        case
            when catalogue_deviations.worse = 'lower' then max(limit_decisions.limit_value)
            else min(limit_decisions.limit_value)
        end as limit_value
    from limit_decisions
    inner join catalogue_deviations on catalogue_deviations.name = limit_decisions.deviation  -- unique on name
    where limit_decisions.limit_value is not null
    group by limit_decisions.install_id, catalogue_deviations.ordinal, catalogue_deviations.worse
)

select
    install_id,
    list(cast(ordinal as double)) as ordinals,
    list(limit_value) as amounts
from governing
group by install_id

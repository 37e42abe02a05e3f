-- door_steps: what a door's records say of each step of the work.
-- grain: one row per install_id and step with anything recorded in it
-- key: install_id, step
-- left out: steps of a door in which nothing was recorded; they count neither as good nor as bad
-- each door: by itself
-- columns:
--   install_id    text     part of the key
--   step          text     part of the key
--   is_out        boolean  at least one limit out or one check failed
--   is_undecided  boolean  not out, but at least one limit that the measurement cannot decide
with
recorded as (
    select
        deviations.install_id,
        deviations.step,
        max(case when catalogue_deviations.how = 'checks' and deviations."value" > 0 then 1 else 0 end)
            as has_failed_check
    from deviations
    -- unique on name: no row doubles
    join catalogue_deviations on catalogue_deviations.name = deviations.deviation
    where deviations."value" is not null
    group by deviations.install_id, deviations.step
),

decided as (
    select
        limit_decisions.install_id,
        catalogue_deviations.step,
        max(case when limit_decisions.decision = 'out' then 1 else 0 end) as has_out,
        max(case when limit_decisions.decision = 'undecided' then 1 else 0 end) as has_undecided
    from limit_decisions
    inner join catalogue_deviations on catalogue_deviations.name = limit_decisions.deviation  -- unique on name
    where limit_decisions.decision in ('out', 'undecided')
    group by limit_decisions.install_id, catalogue_deviations.step
)

select
    recorded.install_id,
    recorded.step,
    recorded.has_failed_check = 1 or coalesce(decided.has_out, 0) = 1 as is_out,
    recorded.has_failed_check = 0 and coalesce(decided.has_out, 0) = 0 and coalesce(decided.has_undecided, 0) = 1
        as is_undecided
from recorded
left join decided on decided.install_id = recorded.install_id and decided.step = recorded.step

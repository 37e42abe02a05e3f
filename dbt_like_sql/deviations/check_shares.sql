-- check_shares: the share failed of each check of a door.
-- Checks count as readings do: up to handover and before the first callback, undated ones too.
-- grain: one row per install_id and deviation (the check's name)
-- key: install_id, deviation
-- columns:
--   install_id  text     part of the key
--   deviation   text     part of the key
--   value       double   failed / (passed + failed); empty where neither
--   readings    integer  passed + failed
--   undated     integer  of these, undated
select
    staged_checks.install_id,
    staged_checks."check" as deviation,
    sum(case when staged_checks.outcome = 'fail' then 1.0 else 0.0 end)
        / nullif(sum(case when staged_checks.outcome in ('pass', 'fail') then 1 else 0 end), 0) as "value",
    cast(sum(case when staged_checks.outcome in ('pass', 'fail') then 1 else 0 end) as bigint) as readings,
    cast(sum(case when staged_checks.outcome in ('pass', 'fail') and staged_checks.checked_on is null then 1 else 0 end)
        as bigint) as undated
from staged_checks
join reading_windows on reading_windows.install_id = staged_checks.install_id
where staged_checks.checked_on is null or staged_checks.checked_on <= reading_windows.last_on
group by staged_checks.install_id, staged_checks."check"

-- check_shares: the share failed of each check of a door.
-- Checks count as readings do: up to handover and before the first callback, undated ones too.
-- grain: one row per install_id and deviation (the check's name)
-- key: none
-- kind: view
-- each door: by itself
-- columns:
--   install_id   text     door
--   deviation    text     which one
--   value        double   failed / (passed + failed); empty where neither
--   unclipped    double   empty: nothing is cut
--   uncertainty  double   empty: checks carry none
--   readings     integer  passed + failed
--   undated      integer  of these, undated
with
counted as (
    select
        staged_checks.install_id,
        staged_checks."check",
        case staged_checks.outcome when 'fail' then 1.0 when 'pass' then 0.0 end as is_failed,
        staged_checks.checked_on
    from staged_checks
    -- reading_windows is unique on install_id: no check doubles
    join reading_windows on reading_windows.install_id = staged_checks.install_id
    where staged_checks.checked_on is null or staged_checks.checked_on <= reading_windows.last_on
)

select
    install_id,
    "check" as deviation,
    avg(is_failed) as "value",
    cast(null as double) as unclipped,
    cast(null as double) as uncertainty,
    count(is_failed) as readings,
    count(case when checked_on is null then is_failed end) as undated
from counted
group by install_id, "check"

-- check_profile: the checks ticked, check by check, in a handful of figures: what expectations look at.
-- grain: one row per check
-- key: check
-- columns:
--   check                 text     key
--   doors                 integer  doors on which it was ticked
--   ticks                 integer  times it was ticked
--   failed_share          double   failed / (passed + failed); empty where neither
--   not_applicable_share  double   share ticked as not applicable
--   undated_share         double   share without a date
select
    "check",
    count(distinct install_id) as doors,
    count(*) as ticks,
    case when sum(case when outcome in ('pass', 'fail') then 1 else 0 end) > 0
        then cast(sum(case when outcome = 'fail' then 1 else 0 end) as double)
            / sum(case when outcome in ('pass', 'fail') then 1 else 0 end)
    end as failed_share,
    avg(case when outcome = 'not_applicable' then 1.0 else 0.0 end) as not_applicable_share,
    avg(case when checked_on is null then 1.0 else 0.0 end) as undated_share
from staged_checks
group by "check"

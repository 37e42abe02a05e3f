-- recheck_doors: doors to look at again: handed over, or else fitted, within the last 90 days and not yet faulty.
-- grain: one row per install_id
-- key: install_id
-- left out: doors that are removed, and those with a callback that a crew answers for
-- columns:
--   install_id  text    key
--   age_days    double  days since handover, else fitting, on the day the records were drawn
with
faulty as (
    select distinct install_id from episodes where is_answered_for
)

select
    staged_installs.install_id,
    cast(date_diff('day', staged_installs.started_on, settings.as_of) as double) as age_days
from staged_installs
cross join settings
left join faulty on faulty.install_id = staged_installs.install_id
where
    faulty.install_id is null
    and staged_installs.removed_on is null
    and date_diff('day', staged_installs.started_on, settings.as_of) between 0 and 90

-- door_spans: doors counted by the days that bound their watch, whatever day the records were drawn.
-- For looking ahead, and back to what an earlier day knew: an end that lies in the future is kept.
-- grain: one row per started_on, from_on, removed_on and warranty_on
-- key: started_on, from_on, removed_on, warranty_on
-- columns:
--   started_on   date     handover, else fitting
--   from_on      date     first day at risk
--   removed_on   date     day they left service; 9999-12-31 where they have not
--   warranty_on  date     day after which the log has no callbacks of theirs; 9999-12-31 where it has
--   doors        integer  doors
select
    door_time.started_on,
    door_time.from_on,
    coalesce(staged_installs.removed_on, date '9999-12-31') as removed_on,
    coalesce(door_time.warranty_on, date '9999-12-31') as warranty_on,
    cast(count(*) as integer) as doors
from door_time
join staged_installs on staged_installs.install_id = door_time.install_id
where door_time.started_on is not null
group by door_time.started_on, door_time.from_on, staged_installs.removed_on, door_time.warranty_on

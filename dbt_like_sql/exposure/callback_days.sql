-- callback_days: every callback with the days that matter for counting it, and whether its door's age is known.
-- grain: one row per callback_id
-- key: callback_id
-- columns:
--   callback_id  text    key
--   reported_on  date    day the customer called
--   logged_on    date    day it was written down
--   install_id   text    door, where it called while watched
--   started_on   date    handover of that door, else its fitting
--   standing     text    watched (a known door while watched), snag (before handover), or no_age
--   cost         double  money: as written, else hours at the labour rate, else the firm's usual cost
with
placed as (
    select
        staged_callbacks.callback_id,
        staged_callbacks.reported_on,
        staged_callbacks.logged_on,
        staged_callbacks.cost,
        door_time.install_id,
        door_time.started_on,
        case
            when staged_callbacks.reported_on between door_time.from_on and door_time.until_on then 'watched'
            when staged_callbacks.reported_on < door_time.started_on then 'snag'
            else 'no_age'
        end as standing
    from staged_callbacks
    left join linked_callbacks on linked_callbacks.callback_id = staged_callbacks.callback_id
    left join door_time on door_time.install_id = linked_callbacks.install_id
)

select
    callback_id,
    reported_on,
    logged_on,
    case when standing = 'watched' then install_id end as install_id,
    case when standing = 'watched' then started_on end as started_on,
    standing,
    cost
from placed

-- staged_callbacks: every callback taken in, with what it cost.
-- grain: one row per callback_id
-- key: callback_id
-- columns:
--   callback_id         text    key
--   install_id          text    door as written
--   job_no              text    job as written
--   reported_on         date    day the customer called
--   logged_on           date    day it was written down
--   visited_on          date    day of the visit
--   fault               text    fault codes as written, several split by ;
--   responsibility      text    who answers for it: as keyed, else as its note says, else unknown
--   responsibility_how  text    keyed, note or none
--   hours               double  h on site
--   cost                double  money: as written, else hours at the labour rate, else the firm's usual cost
select
    callbacks.callback_id,
    callbacks.install_id,
    callbacks.job_no,
    callbacks.reported_on,
    callbacks.logged_on,
    callbacks.visited_on,
    callbacks.fault,
    coalesce(callbacks.responsibility, note_responsibility.responsibility, 'unknown') as responsibility,
    case
        when callbacks.responsibility is not null then 'keyed'
        when note_responsibility.responsibility is not null then 'note'
        else 'none'
    end as responsibility_how,
    callbacks.hours,
    coalesce(callbacks.cost, callbacks.hours * settings.labour_rate, settings.callback_cost) as cost
from callbacks
-- a callback has one current note, so this join keeps one row per callback
left join note_responsibility on note_responsibility.callback_id = callbacks.callback_id
cross join settings

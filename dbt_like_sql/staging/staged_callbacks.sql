-- staged_callbacks: every callback taken in, with what it cost.
-- grain: one row per callback_id
-- key: callback_id
-- columns:
--   callback_id     text    key
--   install_id      text    door as written
--   job_no          text    job as written
--   reported_on     date    day the customer called
--   logged_on       date    day it was written down
--   visited_on      date    day of the visit
--   fault           text    fault codes as written, several split by ;
--   responsibility  text    who answers for it; unknown where empty
--   hours           double  h on site
--   cost            double  money: as written, else hours at the labour rate, else the firm's usual cost of a callback
select
    callbacks.callback_id,
    callbacks.install_id,
    callbacks.job_no,
    callbacks.reported_on,
    callbacks.logged_on,
    callbacks.visited_on,
    callbacks.fault,
    coalesce(callbacks.responsibility, 'unknown') as responsibility,
    callbacks.hours,
    coalesce(callbacks.cost, callbacks.hours * settings.labour_rate, settings.callback_cost) as cost
from callbacks
cross join settings

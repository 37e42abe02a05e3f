-- episodes: what each callback of a known door was, for each of its faults: the opening of an episode, or not.
-- Visits for one door and fault within repeat_days of the previous one belong to its episode. Calls before the start
-- are snags: they are shown, but open nothing and do not make a later call a repeat. Calls outside the watched time
-- are no events; one just before it does make the next a repeat, because that episode had begun already.
-- grain: one row per callback and fault, callbacks linked to a door only
-- key: callback_id, fault
-- columns:
--   callback_id      text     callback
--   install_id       text     door
--   crew             text     who fitted the door
--   fault            text     fault code
--   reported_on      date     day the customer called
--   age_days         double   days since started_on; a call on the first day at risk counts half a day after it, so
--                             that no event falls outside (entry_days, exit_days]; negative before handover
--   kind             text     episode (opens one), repeat, pre_handover or outside
--   is_answered_for  boolean  the crew answers for it: responsibility installation or unknown, fault not no_fault
with
calls as (
    select
        coded_callbacks.callback_id,
        door_time.install_id,
        door_time.crew,
        coded_callbacks.fault,
        staged_callbacks.reported_on,
        staged_callbacks.responsibility,
        door_time.entry_days,
        date_diff('day', door_time.started_on, staged_callbacks.reported_on) as days_after_start,
        staged_callbacks.reported_on < door_time.started_on as is_before_start,
        staged_callbacks.reported_on between door_time.from_on and door_time.until_on as is_watched
    from coded_callbacks
    join staged_callbacks on staged_callbacks.callback_id = coded_callbacks.callback_id
    join linked_callbacks on linked_callbacks.callback_id = coded_callbacks.callback_id
    join door_time on door_time.install_id = linked_callbacks.install_id
),

spaced as (
    select
        calls.*,
        date_diff(
            'day',
            lag(reported_on) over (
                partition by install_id, fault, is_before_start
                order by reported_on, callback_id
            ),
            reported_on
        ) as days_since_last
    from calls
)

select
    spaced.callback_id,
    spaced.install_id,
    spaced.crew,
    spaced.fault,
    spaced.reported_on,
    case
        when spaced.is_watched then greatest(cast(spaced.days_after_start as double), spaced.entry_days + 0.5)
        else cast(spaced.days_after_start as double)
    end as age_days,
    case
        when spaced.is_before_start then 'pre_handover'
        when not spaced.is_watched then 'outside'
        when spaced.days_since_last <= settings.repeat_days then 'repeat'
        else 'episode'
    end as kind,
    spaced.responsibility in ('installation', 'unknown') and spaced.fault <> 'no_fault' as is_answered_for
from spaced
cross join settings

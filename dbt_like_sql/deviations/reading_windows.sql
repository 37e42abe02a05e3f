-- reading_windows: until when a reading of a door counts.
-- A door's readings count up to handover (else fitting) and before its first callback; what is measured later belongs
-- to another epoch of the door.
-- grain: one row per install_id
-- key: install_id
-- columns:
--   install_id  text    key
--   last_on     date    last day whose readings count
--   called_on   date    day of its first callback; empty where none came
--   width_mm    double  the door's width, along which places may be named
--   height_mm   double  its height, the same
with
first_calls as (
    select linked_callbacks.install_id, min(staged_callbacks.reported_on) as called_on
    from linked_callbacks
    join staged_callbacks on staged_callbacks.callback_id = linked_callbacks.callback_id
    where linked_callbacks.install_id is not null
    group by linked_callbacks.install_id
)

-- first_calls is unique on install_id, so this join keeps one row per door.
select
    staged_installs.install_id,
    case
        when first_calls.called_on <= staged_installs.started_on then first_calls.called_on - 1
        else staged_installs.started_on
    end as last_on,
    first_calls.called_on,
    staged_installs.width_mm,
    staged_installs.height_mm
from staged_installs
left join first_calls on first_calls.install_id = staged_installs.install_id

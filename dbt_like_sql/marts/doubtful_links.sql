-- doubtful_links: the doors that a callback without a door may belong to, for a person to decide.
-- grain: one row per callback_id and install_id
-- left out: callbacks that have a door by now, and those that no door comes near
-- key: callback_id, install_id
-- columns:
--   callback_id  text    key
--   install_id   text    a door it may belong to
--   probability  double  chance that it is this door
--   site         text    house: the lowest install_id in it
--   why          text    what agrees and what does not, best first; nothing personal
select
    link_candidates.callback_id,
    link_candidates.install_id,
    link_candidates.probability,
    link_candidates.site,
    link_candidates.why
from link_candidates
join linked_callbacks
    on linked_callbacks.callback_id = link_candidates.callback_id
    and linked_callbacks.how = 'none'
    and not linked_callbacks.is_reviewed
join staged_installs on staged_installs.install_id = link_candidates.install_id

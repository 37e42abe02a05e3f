-- limit_decisions: each door's deviations held against the limits in use, as the instrument allows.
-- grain: one row per install_id and limit that applies to the door
-- key: install_id, limit
-- left out: limits for comparison only (see limit_comparison)
-- each door: by itself
-- columns:
--   install_id       text    part of the key
--   limit            text    part of the key
--   deviation        text    what is limited
--   value            double  the door's deviation; empty: not recorded
--   limit_value      double  the limit that governs, in the deviation's unit
--   decision         text    within, out, undecided or not recorded
--   probability_out  double  probability of being beyond the limit
--   lower_limit      double  the least that the limit allows; empty: no such side
--   upper_limit      double  the most that it allows; empty: no such side, or the door's size is not known
select
    install_id,
    "limit",
    deviation,
    "value",
    limit_value,
    decision,
    probability_out,
    lower_limit,
    upper_limit
from limit_judgements
where status = 'in use'

-- staged_checks: every check taken in.
-- grain: one row per check ticked
-- key: none
-- kind: view
-- each door: by itself
-- columns:
--   install_id  text  door
--   check       text  what was looked at
--   member      text  which leaf or member; empty: the door
--   outcome     text  pass, fail or not_applicable
--   checked_on  date  day of the check; empty: undated
select
    checks.install_id,
    checks."check",
    checks.member,
    checks.outcome,
    checks.checked_on
from checks

-- limit_comparison: how the doors stand against every limit of the catalogue, those for comparison beside those in use.
-- grain: one row per limit and status that applies to any door
-- key: limit, status
-- columns:
--   limit         text     part of the key
--   deviation     text     what is limited
--   step          text     step of the work
--   status        text     part of the key: in use, or for comparison
--   source        text     where the limit is from; the last by name where its rows have several
--   edition       text     its edition; '' where none is known
--   doors         integer  doors it applies to
--   within        integer  of these, within
--   out           integer  of these, out
--   undecided     integer  of these, where the instrument cannot tell
--   not_recorded  integer  of these, not recorded
select
    limit_judgements."limit",
    max(limit_judgements.deviation) as deviation,
    max(catalogue_deviations.step) as step,
    limit_judgements.status,
    max(limit_judgements.source) as source,
    max(limit_judgements.edition) as edition,
    count(*) as doors,
    count(case when limit_judgements.decision = 'within' then 1 end) as within,
    count(case when limit_judgements.decision = 'out' then 1 end) as "out",
    count(case when limit_judgements.decision = 'undecided' then 1 end) as undecided,
    count(case when limit_judgements.decision = 'not recorded' then 1 end) as not_recorded
from limit_judgements
join catalogue_deviations on catalogue_deviations.name = limit_judgements.deviation  -- unique on name: no row doubles
group by limit_judgements."limit", limit_judgements.status

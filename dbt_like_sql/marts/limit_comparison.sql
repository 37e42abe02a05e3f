-- limit_comparison: how the doors stand against every limit of the catalogue, those for comparison beside those in use.
-- grain: one row per limit that applies to any door
-- key: limit
-- columns:
--   limit         text     key
--   deviation     text     what is limited
--   step          text     step of the work
--   status        text     in use, or for comparison
--   source        text     where the limit is from
--   edition       text     its edition; '' where none is known
--   doors         integer  doors it applies to
--   within        integer  of these, within
--   out           integer  of these, out
--   undecided     integer  of these, where the instrument cannot tell
--   not_recorded  integer  of these, not recorded
with
-- Rows of one limit for several products or dates share its name; their first source stands for them.
sources as (
    select name, min(source) as source, min(edition) as edition
    from catalogue_limits
    group by name
)

select
    limit_judgements."limit",
    limit_judgements.deviation,
    catalogue_deviations.step,
    limit_judgements.status,
    sources.source,
    sources.edition,
    count(*) as doors,
    sum(case when limit_judgements.decision = 'within' then 1 else 0 end) as within,
    sum(case when limit_judgements.decision = 'out' then 1 else 0 end) as "out",
    sum(case when limit_judgements.decision = 'undecided' then 1 else 0 end) as undecided,
    sum(case when limit_judgements.decision = 'not recorded' then 1 else 0 end) as not_recorded
from limit_judgements
join sources on sources.name = limit_judgements."limit"  -- unique on name: no row doubles
join catalogue_deviations on catalogue_deviations.name = limit_judgements.deviation  -- unique on name
group by
    limit_judgements."limit", limit_judgements.deviation, catalogue_deviations.step, limit_judgements.status,
    sources.source, sources.edition

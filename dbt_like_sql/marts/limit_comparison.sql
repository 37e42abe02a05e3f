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
with
-- Rows of one limit for several products or dates share its name; the last source by name stands for them.
sources as (
    select name, status, max(source) as source, max(edition) as edition
    from catalogue_limits
    group by name, status
),

-- Those in use have been judged already.
judged as (
    select "limit", 'in use' as status, deviation, decision
    from limit_decisions

    union all

    select "limit", status, deviation, decision
    from limit_judgements
    where status <> 'in use'
),

counted as (
    select
        "limit",
        status,
        max(deviation) as deviation,
        count(*) as doors,
        count(case when decision = 'within' then 1 end) as within,
        count(case when decision = 'out' then 1 end) as "out",
        count(case when decision = 'undecided' then 1 end) as undecided,
        count(case when decision = 'not recorded' then 1 end) as not_recorded
    from judged
    group by "limit", status
)

-- sources is unique on name and status, catalogue_deviations on name: no row doubles
select
    counted."limit",
    counted.deviation,
    catalogue_deviations.step,
    counted.status,
    sources.source,
    sources.edition,
    counted.doors,
    counted.within,
    counted."out",
    counted.undecided,
    counted.not_recorded
from counted
join sources on sources.name = counted."limit" and sources.status = counted.status
join catalogue_deviations on catalogue_deviations.name = counted.deviation

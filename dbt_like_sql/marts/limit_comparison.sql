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
--   out_share     double   out, of the doors with readings; empty where there are none
--   out_low       double   lower end of its 95 % interval (Wilson)
--   out_high      double   upper end
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
),

shared as (
    select
        *,
        cast("out" as double) / nullif(doors - not_recorded, 0) as out_share,
        -- Wilson (1927), J. Am. Stat. Assoc. 22, 209-212: the square of the normal quantile, a door's part of it
        1.959964 * 1.959964 / nullif(doors - not_recorded, 0) as z2_n
    from counted
),

scored as (
    select
        *,
        (out_share + z2_n / 2) / (1 + z2_n) as centre,
        sqrt(z2_n * (out_share * (1 - out_share) + z2_n / 4)) / (1 + z2_n) as half_width
    from shared
)

-- sources is unique on name and status, catalogue_deviations on name: no row doubles
select
    scored."limit",
    scored.deviation,
    catalogue_deviations.step,
    scored.status,
    sources.source,
    sources.edition,
    scored.doors,
    scored.within,
    scored."out",
    scored.undecided,
    scored.not_recorded,
    scored.out_share,
    -- where none or all are out rounding could leave an end beside 0 or 1
    case when scored.out_share = 0 then 0.0 else scored.centre - scored.half_width end as out_low,
    case when scored.out_share = 1 then 1.0 else scored.centre + scored.half_width end as out_high
from scored
join sources on sources.name = scored."limit" and sources.status = scored.status
join catalogue_deviations on catalogue_deviations.name = scored.deviation

-- limit_shapes: how each crew's deviations spread towards their limits: doors by how many times the crew's own median
-- they are, and how many lie just inside the limit and beyond it.
-- grain: one row per crew, deviation and bin
-- key: crew, deviation, bin
-- left out: limits with a lower side; values whose own uncertainty is more than a tenth of the limit, which cannot tell
--     the sides; deviations that are nothing on half of a crew's doors; doors before a crew's latest 500
-- columns:
--   crew       text     part of the key
--   deviation  text     part of the key
--   bin        integer  part of the key: 20 x the natural logarithm of value / the crew's median, rounded down
--   middle     double   the crew's median, as a share of the limit
--   doors      integer  doors in the bin
--   inside     integer  of these, from 0.8 of their limit up to it
--   beyond     integer  of these, beyond it
--   step       double   what the deviation moves by near its limit, as a share of it, the same on all its rows: the
--                       usual gap between neighbouring values of any crew; empty where there is only one
with
judged as (
    select
        credibility_doors.crew,
        limit_decisions.install_id,
        limit_decisions.deviation,
        max(limit_decisions."value" / limit_decisions.upper_limit) as part
    from limit_decisions
    join credibility_doors on credibility_doors.install_id = limit_decisions.install_id
    -- unique on install_id and deviation
    join deviations
        on deviations.install_id = limit_decisions.install_id
        and deviations.deviation = limit_decisions.deviation
    where
        limit_decisions.upper_limit > 0
        and limit_decisions.lower_limit is null
        and limit_decisions."value" is not null
        and deviations.uncertainty <= 0.1 * limit_decisions.upper_limit
    -- of several limits in use the tighter tells
    group by credibility_doors.crew, limit_decisions.install_id, limit_decisions.deviation
),

near_values as (
    select distinct deviation, round(part, 6) as part
    from judged
    where part >= 0.5 and part <= 1.5
),

gaps as (
    select deviation, part - lag(part) over (partition by deviation order by part) as gap
    from near_values
),

ranked_gaps as (
    select
        deviation,
        gap,
        row_number() over (partition by deviation order by gap) as place,
        count(*) over (partition by deviation) as n_gaps
    from gaps
    where gap is not null
),

steps as (
    select deviation, max(gap) as step
    from ranked_gaps
    where 2 * place <= n_gaps + 1
    group by deviation
),

ranked as (
    select
        *,
        row_number() over (partition by crew, deviation order by part, install_id) as place,
        count(*) over (partition by crew, deviation) as n_doors
    from judged
),

middles as (
    select crew, deviation, max(part) as middle
    from ranked
    where 2 * place <= n_doors + 1
    group by crew, deviation
),

upper_halves as (
    select
        judged.crew,
        judged.deviation,
        middles.middle,
        cast(floor(20 * ln(judged.part / middles.middle)) as integer) as bin,
        judged.part
    from judged
    join middles on middles.crew = judged.crew and middles.deviation = judged.deviation
    where middles.middle > 0 and judged.part >= middles.middle
)

-- steps is unique on deviation: a door is counted once
select
    upper_halves.crew,
    upper_halves.deviation,
    upper_halves.bin,
    upper_halves.middle,
    count(*) as doors,
    sum(case when upper_halves.part > 0.8 and upper_halves.part <= 1.0 then 1 else 0 end) as inside,
    sum(case when upper_halves.part > 1.0 then 1 else 0 end) as beyond,
    max(steps.step) as step
from upper_halves
left join steps on steps.deviation = upper_halves.deviation
group by upper_halves.crew, upper_halves.deviation, upper_halves.bin, upper_halves.middle

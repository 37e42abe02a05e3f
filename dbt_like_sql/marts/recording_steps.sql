-- recording_steps: to what step each crew writes each measure, the coarsest of 5, 1, 0.5, 0.1 and 0.01 that holds 95 %.
-- grain: one row per crew and measure
-- key: crew, measure
-- columns:
--   crew      text     part of the key
--   measure   text     part of the key
--   readings  integer  readings behind it
--   step      double   the step in the measure's unit; empty where none holds
--   spread    double   how far the readings spread, in the measure's unit: their standard deviation, or what their
--                      middle four fifths would give it where that is less; empty under two
with
-- Readings are rounded, so their different values are few, and a place among these costs little.
counted as (
    select crew, measure, "value", count(*) as readings
    from own_unit_readings
    where "value" is not null
    group by crew, measure, "value"
),

placed as (
    select
        crew,
        measure,
        "value",
        sum(readings) over (partition by crew, measure order by "value") as up_to,
        sum(readings) over (partition by crew, measure) as readings
    from counted
),

-- from the tenth to the ninetieth percentile
middles as (
    select
        crew,
        measure,
        min(case when up_to >= 0.9 * readings then "value" end)
        - min(case when up_to >= 0.1 * readings then "value" end) as width
    from placed
    group by crew, measure
),

shares as (
    select
        crew,
        measure,
        count(*) as readings,
        case when count(*) > 1 then stddev_samp("value") end as deviation,
        avg(case when abs("value" / 5.0 - round("value" / 5.0)) < 0.000001 then 1.0 else 0.0 end) as by_5,
        avg(case when abs("value" - round("value")) < 0.000001 then 1.0 else 0.0 end) as by_1,
        avg(case when abs("value" * 2 - round("value" * 2)) < 0.000001 then 1.0 else 0.0 end) as by_half,
        avg(case when abs("value" * 10 - round("value" * 10)) < 0.000001 then 1.0 else 0.0 end) as by_tenth,
        avg(case when abs("value" * 100 - round("value" * 100)) < 0.00001 then 1.0 else 0.0 end) as by_hundredth
    from own_unit_readings
    group by crew, measure
)

select
    shares.crew,
    shares.measure,
    shares.readings,
    case
        when shares.by_5 >= 0.95 then 5.0
        when shares.by_1 >= 0.95 then 1.0
        when shares.by_half >= 0.95 then 0.5
        when shares.by_tenth >= 0.95 then 0.1
        when shares.by_hundredth >= 0.95 then 0.01
    end as step,
    -- Few large readings beside many small ones, as of counts, do not spread last digits: 2.563 standard deviations lie
    -- between the tenth and the ninetieth percentile of a normal distribution.
    case when shares.readings > 1 then least(shares.deviation, middles.width / 2.563) end as spread
from shares
-- unique on crew and measure: no row doubles
left join middles on middles.crew = shares.crew and middles.measure = shares.measure

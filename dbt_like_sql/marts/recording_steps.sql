-- recording_steps: to what step each crew writes each measure, the coarsest of 5, 1, 0.5, 0.1 and 0.01 that holds 95 %.
-- grain: one row per crew and measure
-- key: crew, measure
-- columns:
--   crew      text     part of the key
--   measure   text     part of the key
--   readings  integer  readings behind it
--   step      double   the step in the measure's unit; empty where none holds
--   spread    double   how far the readings spread, in the measure's unit: their standard deviation, or what their middle
--                      four fifths would give it where that is less; empty under two
with
shares as (
    select
        crew,
        measure,
        count(*) as readings,
        -- few large readings beside many small ones, as of counts, do not spread last digits: 2.563 standard
        -- deviations lie between the tenth and the ninetieth percentile of a normal one
        case when count(*) > 1 then
            least(stddev_samp("value"), (quantile_cont("value", 0.9) - quantile_cont("value", 0.1)) / 2.563)
        end as spread,
        avg(case when abs("value" / 5.0 - round("value" / 5.0)) < 0.000001 then 1.0 else 0.0 end) as by_5,
        avg(case when abs("value" - round("value")) < 0.000001 then 1.0 else 0.0 end) as by_1,
        avg(case when abs("value" * 2 - round("value" * 2)) < 0.000001 then 1.0 else 0.0 end) as by_half,
        avg(case when abs("value" * 10 - round("value" * 10)) < 0.000001 then 1.0 else 0.0 end) as by_tenth,
        avg(case when abs("value" * 100 - round("value" * 100)) < 0.00001 then 1.0 else 0.0 end) as by_hundredth
    from own_unit_readings
    group by crew, measure
)

select
    crew,
    measure,
    readings,
    case
        when by_5 >= 0.95 then 5.0
        when by_1 >= 0.95 then 1.0
        when by_half >= 0.95 then 0.5
        when by_tenth >= 0.95 then 0.1
        when by_hundredth >= 0.95 then 0.01
    end as step,
    spread
from shares

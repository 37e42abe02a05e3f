-- reading_profile: the readings that count, measure by measure, in a handful of figures: what expectations look at.
-- grain: one row per measure
-- key: measure
-- columns:
--   measure        text     key
--   doors          integer  doors with a reading of it
--   readings       integer  readings that count
--   undated_share  double   of these, share without a date
--   unnamed_share  double   of these, share whose instrument is not named
--   low            double   smallest reading, in the measure's unit
--   high           double   largest reading, in the measure's unit
--   range          double   high - low; empty under two readings
--   mean           double   mean of the readings, in the measure's unit
--   step           double   finest decimal place as written, in the measure's unit
select
    measure,
    count(distinct install_id) as doors,
    cast(sum(n) as bigint) as readings,
    cast(sum(undated) as double) / sum(n) as undated_share,
    cast(sum(case when instrument = '' then n else 0 end) as double) / sum(n) as unnamed_share,
    min(low) as low,
    max(high) as high,
    case when sum(n) > 1 then max(high) - min(low) end as "range",
    sum(n * mean) / sum(n) as mean,
    min(step) as step
from reading_fits
where n > 0
group by measure

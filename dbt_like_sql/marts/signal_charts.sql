-- signal_charts: which control charts are watched, how often each alarms falsely, and what it found.
-- grain: one row per chart
-- key: crew, subject, chart
-- columns:
--   crew                   text     part of the key; all is the firm
--   subject                text     part of the key; a deviation, a step, callbacks or a fault
--   chart                  text     part of the key; individuals, ewma, cusum or rare
--   step                   text     step of the work; empty for callbacks
--   points                 integer  points there are
--   tested                 integer  of these, points with enough past to be tested; 0: too few
--   signals                integer  points out of control
--   last_at                date     last day of the last point
--   last_signal            date     last day of the last point out of control; empty: none
--   limit                  double   above which the chart alarms
--   run_length             double   points until a false alarm, on average
--   false_alarms_per_year  double   expected while nothing changes; 0 where nothing could be tested
with
spans as (
    select
        max(date_diff('day', first_on, last_on)) / 365.25 as years
    from (
        select chart, min("at") as first_on, max("at") as last_on
        from signal_points
        group by chart
    ) as charts
)

select
    signal_points.crew,
    signal_points.subject,
    signal_points.chart,
    signal_points.step,
    count(*) as points,
    count(signal_points."value") as tested,
    sum(case when signal_points.is_out then 1 else 0 end) as signals,
    max(signal_points."at") as last_at,
    max(case when signal_points.is_out then signal_points."at" end) as last_signal,
    max(signal_points."limit") as "limit",
    max(signal_points.run_length) as run_length,
    count(signal_points."value") / max(signal_points.run_length) / greatest(max(spans.years), 1.0)
        as false_alarms_per_year
from signal_points
cross join spans
group by signal_points.crew, signal_points.subject, signal_points.chart, signal_points.step

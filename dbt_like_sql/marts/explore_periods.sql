-- explore_periods: the periods to choose on the linked sheet: the last twelve quarters, and all before as one.
-- grain: one row per period
-- key: period
-- columns:
--   period       text     YYYY-Qn, or `before YYYY-Qn` for everything that came before the twelve
--   starts_on    date     first day
--   ends_on      date     first day after it
--   is_complete  boolean  it has ended, and at least 95 % of its paper can have arrived, as far as known
with
bounds as (
    select
        settings.as_of,
        least(min(door_time.from_on), min(staged_installs.fitted_on)) as first_on
    from settings
    cross join staged_installs
    left join door_time on door_time.install_id = staged_installs.install_id
    group by settings.as_of
),

cut as (
    select
        cast(date_trunc('quarter', first_on) as date) as first_quarter,
        greatest(
            cast(date_trunc('quarter', first_on) as date),
            cast(date_trunc('quarter', as_of) - interval 33 month as date)
        ) as first_told,
        as_of
    from bounds
),

quarters as (
    select cast(unnest(generate_series(first_told, as_of, interval 3 month)) as date) as starts_on
    from cut
),

spans as (
    select
        concat(strftime(starts_on, '%Y'), '-Q', cast(quarter(starts_on) as text)) as period,
        starts_on,
        cast(starts_on + interval 3 month as date) as ends_on
    from quarters
    union all
    select
        concat('before ', strftime(first_told, '%Y'), '-Q', cast(quarter(first_told) as text)) as period,
        first_quarter as starts_on,
        first_told as ends_on
    from cut
    where first_quarter < first_told
),

-- Paper of a quarter has arrived once that of its last month has.
arrived as (
    select cast(concat(month, '-01') as date) as month_on, is_complete
    from callback_months
)

select
    spans.period,
    spans.starts_on,
    spans.ends_on,
    spans.ends_on <= cut.as_of + 1 and coalesce(arrived.is_complete, true) as is_complete
from spans
cross join cut
left join arrived on arrived.month_on = cast(spans.ends_on - interval 1 month as date)

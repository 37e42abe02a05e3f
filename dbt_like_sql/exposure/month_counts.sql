-- month_counts: what each calendar month saw, from the first door watched to the day the records were drawn.
-- grain: one row per month, months without a callback included
-- key: month
-- left out: callbacks of no known door, and those before the first door was watched or after the records' last day
-- columns:
--   month           text     YYYY-MM
--   door_years      double   years of 365.25 days at risk within the month, all doors
--   callbacks       integer  callbacks that open an episode which a crew answers for
--   callbacks_all   integer  callbacks reported, whatever they were
--   cost            double   money, of all of them; empty where none has a cost
--   arrived_share   double   share of the paper of its last day that has arrived by now, going by how long paper
--                            takes (paper_delays); empty where that is not known; 0 for a month that still runs
with
spans as (
    select from_on, until_on, count(*) as doors
    from door_time
    where door_years > 0
    group by from_on, until_on
),

bounds as (
    select min(spans.from_on) as first_on, settings.as_of
    from spans
    cross join settings
    group by settings.as_of
),

starts as (
    select
        cast(unnest(generate_series(date_trunc('month', first_on), as_of, interval 1 month)) as date) as starts_on,
        as_of
    from bounds
),

months as (
    select starts_on, cast(starts_on + interval 1 month as date) as ends_on, as_of
    from starts
),

-- A door watched on a single day has half a day at risk, as in door_time.
month_time as (
    select
        months.starts_on,
        sum(
            spans.doors * case
                when spans.from_on = spans.until_on then 0.5
                else date_diff(
                    'day', greatest(spans.from_on, months.starts_on), least(spans.until_on, months.ends_on)
                )
            end
        ) / 365.25 as door_years
    from months
    join spans on spans.from_on < months.ends_on and spans.until_on >= months.starts_on
    group by months.starts_on
),

-- episodes has a row per fault; a callback counts once.
calls as (
    select
        episodes.callback_id,
        episodes.reported_on,
        max(case when episodes.kind = 'episode' and episodes.is_answered_for then 1 else 0 end) as opens_an_episode
    from episodes
    group by episodes.callback_id, episodes.reported_on
),

month_calls as (
    select
        cast(date_trunc('month', calls.reported_on) as date) as starts_on,
        sum(calls.opens_an_episode) as callbacks,
        count(*) as callbacks_all,
        sum(staged_callbacks.cost) as cost
    from calls
    join staged_callbacks on staged_callbacks.callback_id = calls.callback_id
    group by cast(date_trunc('month', calls.reported_on) as date)
),

arrivals as (
    select
        months.starts_on,
        case
            when months.ends_on > months.as_of + 1 then 0.0
            when count(paper_delays.delay_days) > 0
                then
                    max(
                        case
                            when paper_delays.delay_days <= date_diff('day', months.ends_on, months.as_of + 1)
                                then paper_delays.arrived_share
                            else 0.0
                        end
                    )
        end as arrived_share
    from months
    left join paper_delays on true
    group by months.starts_on, months.ends_on, months.as_of
)

select
    strftime(months.starts_on, '%Y-%m') as month,
    coalesce(month_time.door_years, 0.0) as door_years,
    coalesce(month_calls.callbacks, 0) as callbacks,
    coalesce(month_calls.callbacks_all, 0) as callbacks_all,
    month_calls.cost,
    arrivals.arrived_share
from months
join arrivals on arrivals.starts_on = months.starts_on
left join month_time on month_time.starts_on = months.starts_on
left join month_calls on month_calls.starts_on = months.starts_on

-- explore_time: how long doors were watched and how often they called, for the linked sheet.
-- grain: one row per crew, product and period with time at risk or a callback
-- key: crew, product, period
-- columns:
--   crew        text     part of the key; crews beyond the sixty most watched as `other crews`
--   product     text     part of the key; `not recorded`, and beyond the twenty most watched `other products`
--   period      text     part of the key; of explore_periods
--   door_years  double   years of 365.25 days at risk within the period
--   callbacks   integer  callbacks that open an episode which a crew answers for, reported in the period
with
spans as (
    select crew, product, from_on, until_on, count(*) as doors
    from explore_doors
    where door_years > 0
    group by crew, product, from_on, until_on
),

-- A door watched on a single day has half a day at risk, as in door_time; risk time is half open, (from_on, until_on].
watched as (
    select
        spans.crew,
        spans.product,
        explore_periods.period,
        sum(
            spans.doors * case
                when spans.from_on = spans.until_on then 0.5
                else date_diff(
                    'day',
                    greatest(spans.from_on, explore_periods.starts_on),
                    least(spans.until_on, explore_periods.ends_on)
                )
            end
        ) / 365.25 as door_years
    from explore_periods
    join spans on spans.from_on < explore_periods.ends_on and spans.until_on >= explore_periods.starts_on
    group by spans.crew, spans.product, explore_periods.period
),

-- episodes has a row per fault; a callback counts once.
calls as (
    select callback_id, install_id, reported_on
    from episodes
    where kind = 'episode' and is_answered_for
    group by callback_id, install_id, reported_on
),

called as (
    select explore_doors.crew, explore_doors.product, explore_periods.period, count(*) as callbacks
    from calls
    join explore_doors on explore_doors.install_id = calls.install_id
    join explore_periods
        on calls.reported_on >= explore_periods.starts_on and calls.reported_on < explore_periods.ends_on
    group by explore_doors.crew, explore_doors.product, explore_periods.period
),

seen as (
    select crew, product, period, door_years, 0 as callbacks
    from watched
    union all
    select crew, product, period, 0.0 as door_years, callbacks
    from called
)

select crew, product, period, sum(door_years) as door_years, cast(sum(callbacks) as integer) as callbacks
from seen
group by crew, product, period
having sum(door_years) > 0 or sum(callbacks) > 0

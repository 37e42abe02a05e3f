-- door_time: how long each door was watched, and what ended the watch.
-- The watch runs from the start day (never before the callback log is complete) to removal, the day the records were
-- drawn, or the end of warranty where the log ends with it. Ages count from started_on. Risk time is half open,
-- (entry_days, exit_days]; a door whose watch is a single day gets half a day, so that a call on that day lies inside.
-- grain: one row per install_id
-- key: install_id
-- each door: by itself
-- columns:
--   install_id  text    key
--   crew        text    who fitted it
--   started_on  date    handover, else fitting
--   from_on     date    first day at risk
--   until_on    date    last day at risk
--   entry_days  double  age at from_on, days, 0 or more
--   exit_days   double  age at until_on, days, at least entry_days
--   door_years  double  years of 365.25 days at risk, 0 where never at risk
--   ended_by    text    removed, as_of or warranty
--   warranty_on  date   day its warranty ends, where the callback log ends with it; else empty
with
warranties as (
    select
        as_of,
        callbacks_from,
        case when log_ends_with_warranty then cast(floor(warranty_months) as integer) end as whole_months,
        -- the part of a month that is left over, in days of a mean month
        cast(round((warranty_months - floor(warranty_months)) * 30.4375) as integer) as odd_days
    from settings
),

ends as (
    select
        staged_installs.install_id,
        staged_installs.crew,
        staged_installs.started_on,
        staged_installs.removed_on,
        warranties.as_of,
        greatest(staged_installs.started_on, coalesce(warranties.callbacks_from, staged_installs.started_on))
            as from_on,
        cast(staged_installs.started_on + interval 1 month * warranties.whole_months as date) + warranties.odd_days
            as warranty_on
    from staged_installs
    cross join warranties
),

-- least() would pass over an empty date in one engine and not in another, hence the coalesce.
watched as (
    select
        install_id,
        crew,
        started_on,
        from_on,
        removed_on,
        warranty_on,
        least(as_of, coalesce(removed_on, as_of), coalesce(warranty_on, as_of)) as until_on
    from ends
),

ages as (
    select
        install_id,
        crew,
        started_on,
        from_on,
        until_on,
        warranty_on,
        case
            when removed_on = until_on then 'removed'
            when warranty_on = until_on then 'warranty'
            else 'as_of'
        end as ended_by,
        cast(date_diff('day', started_on, from_on) as double) as entry_days,
        case
            when until_on < from_on then cast(date_diff('day', started_on, from_on) as double)
            when until_on = from_on then date_diff('day', started_on, from_on) + 0.5
            else cast(date_diff('day', started_on, until_on) as double)
        end as exit_days
    from watched
)

select
    install_id,
    crew,
    started_on,
    from_on,
    until_on,
    entry_days,
    exit_days,
    (exit_days - entry_days) / 365.25 as door_years,
    ended_by,
    warranty_on
from ages

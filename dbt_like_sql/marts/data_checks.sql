-- data_checks: what looks wrong in the records that were taken in, worded for a person. Nothing is set aside for it.
-- grain: one row per check
-- key: check
-- columns:
--   check         text     key; the claim that should hold
--   record        text     record it is about
--   rows_checked  integer  rows that the claim is about
--   rows_failing  integer  rows that break it
--   sentence      text     what it is, how many of how many, what to do
with
doors as (
    select
        'handed over on or after fitting' as "check",
        'installs' as record,
        count(handed_over_on) as rows_checked,
        sum(case when handed_over_on < fitted_on then 1 else 0 end) as rows_failing,
        'doors were handed over before they were fitted; correct one of the two dates' as words
    from staged_installs
    union all
    select
        'removed on or after the start', 'installs', count(removed_on),
        sum(case when removed_on < started_on then 1 else 0 end),
        'doors were removed before they were handed over or fitted; correct the dates, they count no time now'
    from staged_installs
    union all
    select
        'fitted on or after survey', 'installs', count(surveyed_on),
        sum(case when fitted_on < surveyed_on then 1 else 0 end),
        'doors were fitted before they were surveyed; correct one of the two dates'
    from staged_installs
    union all
    select
        'handed over within a year of fitting', 'installs', count(handed_over_on),
        sum(case when date_diff('day', fitted_on, handed_over_on) > 366 then 1 else 0 end),
        'doors were handed over more than a year after fitting; their time at risk starts late if the date is wrong'
    from staged_installs
    union all
    select
        'leaf width between 300 and 1,500 mm', 'installs',
        sum(case when width_mm is not null and leaves > 0 then 1 else 0 end),
        sum(case when leaves > 0 and (width_mm / leaves < 300 or width_mm / leaves > 1500) then 1 else 0 end),
        'doors have leaves that are too narrow or too wide; check width_mm, its unit, and leaves'
    from staged_installs
    union all
    select
        'door between 1,500 and 3,500 mm high', 'installs', count(height_mm),
        sum(case when height_mm < 1500 or height_mm > 3500 then 1 else 0 end),
        'doors are unusually low or high; check height_mm and its unit'
    from staged_installs
),

callbacks as (
    select
        'reported on or before logged' as "check", 'callbacks' as record, count(logged_on) as rows_checked,
        sum(case when logged_on < reported_on then 1 else 0 end) as rows_failing,
        'callbacks were logged before they were reported; correct one of the two dates' as words
    from staged_callbacks
    union all
    select
        'visited on or after reported', 'callbacks', count(visited_on),
        sum(case when visited_on < reported_on then 1 else 0 end),
        'callbacks were visited before they were reported; correct one of the two dates'
    from staged_callbacks
    union all
    select
        'cost and hours not negative', 'callbacks', count(coalesce(cost, hours)),
        sum(case when cost < 0 or hours < 0 then 1 else 0 end),
        'callbacks have a negative cost or negative hours; correct them, sums of cost are too low now'
    from staged_callbacks
    union all
    select
        'linked to a door', 'callbacks', count(*),
        sum(case when how = 'none' then 1 else 0 end),
        'callbacks belong to no door we know; write install_id, or decide in links_to_review.xlsx those that it lists'
    from linked_callbacks
    union all
    select
        'coded with a fault', 'callbacks', count(distinct callback_id),
        -- a callback without a code has one row only, and that says unclear
        count(distinct case when fault = 'unclear' then callback_id end),
        'callbacks have no fault code; write one of the fault kinds'
    from coded_callbacks
),

-- Counted from one row a door and measure, not from the long table.
sessions as (
    select
        install_id,
        sum(n) as n,
        sum(undated) as undated,
        max(case when measure = 'frame_width' then high end) as width,
        max(case when measure = 'frame_height' then high end) as height,
        min(case when measure = 'frame_diagonal' then low end) as diagonal
    from reading_fits
    group by install_id
),

readings as (
    select
        'has readings that count' as "check", 'readings' as record, count(*) as rows_checked,
        sum(case when sessions.install_id is null then 1 else 0 end) as rows_failing,
        'doors have no reading from before handover; without one they say nothing about causes' as words
    from staged_installs
    left join sessions on sessions.install_id = staged_installs.install_id
    union all
    select
        'readings dated', 'readings', coalesce(sum(n), 0), coalesce(sum(undated), 0),
        'readings that count carry no date; they are taken as of handover, write read_on to be sure'
    from sessions
    union all
    select
        'diagonal longer than either side', 'readings',
        sum(case when diagonal is not null and width is not null and height is not null then 1 else 0 end),
        sum(case when diagonal < width or diagonal < height then 1 else 0 end),
        'doors have a frame diagonal shorter than a side; read the six lengths again'
    from sessions
    union all
    select
        'readings tell a number', 'readings', coalesce(numbers.n, 0) + coalesce(oks.n, 0), coalesce(oks.n, 0),
        'readings only say that all was well (ok, a tick); they are kept as within what was allowed, but no number can '
            || 'be made of them: have the reading written'
    from (select sum(n) as n from sessions) as numbers
    cross join (select sum(readings) as n from ok_readings) as oks
),

-- One pass over the long table; both joins are unique on install_id: no reading doubles.
days as (
    select
        count(staged_readings.read_on) as n_dated,
        count(case when staged_readings.read_on > reading_windows.last_on then 1 end) as n_later,
        count(case
            when staged_readings.read_on < coalesce(staged_installs.surveyed_on, staged_installs.fitted_on - 366) then 1
        end) as n_earlier
    from staged_readings
    join reading_windows on reading_windows.install_id = staged_readings.install_id
    join staged_installs on staged_installs.install_id = staged_readings.install_id
    -- the zero that a lean implies is no reading
    where staged_readings.written_unit is null or staged_readings.written_value is not null
),

reading_days as (
    select
        'read up to handover and before the first callback' as "check", 'readings' as record,
        n_dated as rows_checked, n_later as rows_failing,
        'readings are of a later day; they are kept, but not used for causes, limits or weak steps' as words
    from days
    union all
    select
        'read on or after the survey', 'readings', n_dated, n_earlier,
        'readings are older than the survey (else a year older than the fitting); check read_on and install_id'
    from days
),

crews_known as (
    select
        'fitted while the crew was with the firm' as "check", 'crews' as record, count(*) as rows_checked,
        sum(case when staged_installs.fitted_on < crews.joined_on or staged_installs.fitted_on > crews.left_on
            then 1 else 0 end) as rows_failing,
        'doors were fitted before their crew joined or after it left; correct the crew or the dates' as words
    from staged_installs
    join crews on crews.crew = staged_installs.crew  -- unique on crew: no row doubles
),

crew_spellings as (
    select
        crew, count(*) over (partition by lower(regexp_replace(trim(crew), '\s+', ' ', 'g'))) as spellings
    from (select distinct crew from staged_installs) as written
),

crews_written as (
    select
        'each crew written in one way' as "check", 'installs' as record, count(*) as rows_checked,
        sum(case when spellings > 1 then 1 else 0 end) as rows_failing,
        -- crews that the firm has not listed both were taken as one before
        'crews differ from another in capitals or blanks only, and count as crews of their own since the list of crews '
            || 'has both; keep one of them there' as words
    from crew_spellings
),

gathered as (
    select * from doors
    union all
    select * from callbacks
    union all
    select * from readings
    union all
    select * from reading_days
    union all
    select * from crews_known
    union all
    select * from crews_written
)

select
    "check",
    record,
    cast(coalesce(rows_checked, 0) as bigint) as rows_checked,
    cast(coalesce(rows_failing, 0) as bigint) as rows_failing,
    case
        when coalesce(rows_checked, 0) = 0 then 'Nothing to check: ' || "check" || '.'
        when coalesce(rows_failing, 0) = 0
            then 'All ' || cast(cast(rows_checked as bigint) as varchar) || ' in order: ' || "check" || '.'
        else cast(cast(rows_failing as bigint) as varchar) || ' of ' || cast(cast(rows_checked as bigint) as varchar)
            || ' ' || words || '.'
    end as sentence
from gathered

-- credibility_doors: the doors on which each crew's record is tested, one line each.
-- A crew is judged on its latest 500 doors: enough for every test, and a record that was once poor is not held against
-- it for ever.
-- grain: one row per door, the latest 500 of each crew
-- key: install_id
-- left out: a crew's doors before its latest 500
-- columns:
--   install_id         text     key
--   crew               text     who fitted it
--   place              integer  1, 2, ... from the latest door back, by day of fitting
--   quarter            integer  quarter years from 1 January 2000 to the start, the same for doors of one time
--   measures           integer  measures with a counted reading
--   called             boolean  a callback opened an episode that the crew answers for
--   misclosure         double   mm by which its six lengths fail to close; empty where not all are recorded
--   misclosure_u       double   standard uncertainty of that, mm
--   length_factor      double   uncertainty of the misclosure over that of one length, from width and height
--   dated              integer  readings with a day
--   impossible         integer  of these, on a day on which they cannot have been taken
with
numbered as (
    select
        staged_installs.*,
        row_number() over (
            partition by staged_installs.crew
            order by staged_installs.fitted_on desc, staged_installs.install_id desc
        ) as place
    from staged_installs
    where staged_installs.crew is not null
),

recorded as (
    select install_id, count(distinct measure) as measures
    from reading_fits
    group by install_id
),

called as (
    select distinct install_id
    from episodes
    where kind = 'episode' and is_answered_for
),

closed as (
    select install_id, "value" as misclosure, uncertainty as misclosure_u
    from deviations
    where deviation = 'tape_misclosure'
)

-- each of the joined tables is unique on install_id: a door stays one row
select
    numbered.install_id,
    numbered.crew,
    numbered.place,
    cast(floor(date_diff('day', date '2000-01-01', numbered.started_on) / 91.3125) as bigint) as quarter,
    coalesce(recorded.measures, 0) as measures,
    called.install_id is not null as called,
    closed.misclosure,
    closed.misclosure_u,
    -- sensitivities 1 of sill and head, h / w of each jamb, d / w of each diagonal; a square door where not known
    2.0 * sqrt(1.0 + power(coalesce(numbered.height_mm / numbered.width_mm, 1.0), 2)) as length_factor,
    coalesce(reading_days.dated, 0) as dated,
    coalesce(reading_days.impossible, 0) as impossible
from numbered
left join recorded on recorded.install_id = numbered.install_id
left join called on called.install_id = numbered.install_id
left join closed on closed.install_id = numbered.install_id
left join reading_days on reading_days.install_id = numbered.install_id
where numbered.place <= 500

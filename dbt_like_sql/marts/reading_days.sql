-- reading_days: how many of a door's readings are dated on days on which they cannot have been taken.
-- Impossible is: before the survey (without one: more than a year before fitting); what is not read at survey, more
-- than 30 days before fitting; after handover, with no callback reported by then; after removal; before the crew joined
-- or after it left. Thirty days leave room for frames that were measured in the shop (common practice, no source).
-- grain: one row per door with a dated reading
-- key: install_id
-- columns:
--   install_id  text     key
--   dated       integer  readings with a day
--   impossible  integer  of these, on an impossible day
with
stays as (
    select crew, min(joined_on) as joined_on, max(left_on) as left_on
    from crews
    group by crew
),

days as (
    select
        staged_readings.install_id,
        staged_readings.read_on,
        staged_readings.measure like 'aperture%' as is_survey,
        count(*) as readings
    from staged_readings
    where staged_readings.read_on is not null
    group by staged_readings.install_id, staged_readings.read_on, staged_readings.measure like 'aperture%'
)

-- staged_installs, reading_windows and stays are unique on what they are joined by: no day doubles
select
    days.install_id,
    cast(sum(days.readings) as bigint) as dated,
    cast(sum(case
        when days.read_on < coalesce(staged_installs.surveyed_on, staged_installs.fitted_on - 366) then days.readings
        when not days.is_survey and days.read_on < staged_installs.fitted_on - 30 then days.readings
        when days.read_on > staged_installs.handed_over_on
            and (reading_windows.called_on is null or days.read_on < reading_windows.called_on) then days.readings
        when days.read_on > staged_installs.removed_on then days.readings
        when days.read_on < stays.joined_on and not days.is_survey then days.readings
        when days.read_on > stays.left_on then days.readings
        else 0
    end) as bigint) as impossible
from days
join staged_installs on staged_installs.install_id = days.install_id
left join reading_windows on reading_windows.install_id = days.install_id
left join stays on stays.crew = staged_installs.crew
group by days.install_id

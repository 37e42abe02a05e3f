-- recorded_steps: on how many doors each crew recorded anything of each step, and the whole firm.
-- grain: one row per crew (or `all`) and step of the catalogue, steps in which nothing is recorded included
-- key: crew, step
-- columns:
--   crew            text     part of the key; `all` is the firm
--   step            text     part of the key
--   step_order      integer  place of the step in the order of the work, from 1
--   doors           integer  doors of the crew
--   doors_recorded  integer  of these, doors with any deviation or check of the step recorded
--   recorded_share  double   doors_recorded / doors
with
door_crews as (
    select install_id, crew from staged_installs
    union all
    select install_id, 'all' as crew from staged_installs
),

crew_doors as (
    select crew, count(*) as doors from door_crews group by crew
),

steps as (
    select step, min(step_order) as step_order from catalogue_deviations group by step
),

recorded as (
    select door_crews.crew, door_steps.step, count(*) as doors_recorded
    from door_steps
    join door_crews on door_crews.install_id = door_steps.install_id
    group by door_crews.crew, door_steps.step
)

select
    crew_doors.crew,
    steps.step,
    steps.step_order,
    crew_doors.doors,
    coalesce(recorded.doors_recorded, 0) as doors_recorded,
    cast(coalesce(recorded.doors_recorded, 0) as double) / crew_doors.doors as recorded_share
from crew_doors
cross join steps
left join recorded on recorded.crew = crew_doors.crew and recorded.step = steps.step

-- crew_outs: which deviations were out, by crew: what a trainer looks at first.
-- grain: one row per crew and deviation, every deviation of the catalogue included
-- key: crew, deviation
-- columns:
--   crew            text     part of the key
--   deviation       text     part of the key
--   step            text     step of the work
--   doors           integer  doors of the crew
--   doors_recorded  integer  doors with a value
--   doors_out       integer  doors with a limit out or the check failed
--   doors_undecided integer  doors not out, where the measurement cannot decide
--   doors_judged    integer  doors whose value was held against a limit in use, or whose check is recorded
with
crew_doors as (
    select crew, count(*) as doors
    from staged_installs
    group by crew
),

recorded as (
    select
        staged_installs.crew,
        deviations.deviation,
        count(deviations.value) as doors_recorded,
        sum(case when deviations.value > 0 then 1 else 0 end) as doors_above_zero
    from deviations
    join staged_installs on staged_installs.install_id = deviations.install_id
    group by staged_installs.crew, deviations.deviation
),

-- Several limits may hold for one deviation of a door: the door counts once.
door_decisions as (
    select
        install_id,
        deviation,
        max(case when decision = 'out' then 1 else 0 end) as is_out,
        max(case when decision = 'undecided' then 1 else 0 end) as is_undecided
    from limit_decisions
    where decision in ('within', 'out', 'undecided')
    group by install_id, deviation
),

decided as (
    select
        staged_installs.crew,
        door_decisions.deviation,
        sum(door_decisions.is_out) as doors_out,
        sum((1 - door_decisions.is_out) * door_decisions.is_undecided) as doors_undecided,
        count(*) as doors_judged
    from door_decisions
    join staged_installs on staged_installs.install_id = door_decisions.install_id
    group by staged_installs.crew, door_decisions.deviation
)

select
    crew_doors.crew,
    catalogue_deviations.name as deviation,
    catalogue_deviations.step,
    crew_doors.doors,
    coalesce(recorded.doors_recorded, 0) as doors_recorded,
    case
        when catalogue_deviations.how = 'checks' then coalesce(recorded.doors_above_zero, 0)
        else coalesce(decided.doors_out, 0)
    end as doors_out,
    coalesce(decided.doors_undecided, 0) as doors_undecided,
    case
        when catalogue_deviations.how = 'checks' then coalesce(recorded.doors_recorded, 0)
        else coalesce(decided.doors_judged, 0)
    end as doors_judged
from crew_doors
cross join catalogue_deviations
left join recorded on recorded.crew = crew_doors.crew and recorded.deviation = catalogue_deviations.name
left join decided on decided.crew = crew_doors.crew and decided.deviation = catalogue_deviations.name

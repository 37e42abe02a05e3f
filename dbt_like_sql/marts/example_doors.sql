-- example_doors: doors to look at: some that show one of the strongest causes and came back, some that did not.
-- Shows it: its value lies at the worse end that the ratio is told for, or beyond; a check failed. Those that came back
-- latest, and those that were watched longest, stand first.
-- grain: one row per fault, deviation, kind and place, at most three pairs and five doors of each kind
-- key: fault, deviation, kind, place
-- left out: crew, since an example is of a cause and not of a person
-- columns:
--   fault        text     part of the key
--   deviation    text     part of the key
--   kind         text     part of the key: came back, or did not
--   place        integer  part of the key: 1 to 5
--   pair         integer  1 for the strongest cause, by the near end of its interval
--   install_id   text     door
--   value        double   its deviation, in the unit of effects; for a check the share that failed
--   fitted_on    date     day it was fitted
--   door_years   double   years it was watched
--   reported_on  date     day it first came back with the fault; empty where it did not
--   doors_alike  integer  doors that show the cause and are of this kind
with
strongest as (
    select
        fault,
        deviation,
        contrast_to,
        contrast_to < contrast_from as is_lower_worse,
        cast(row_number() over (order by round(contrast_low, 9) desc, fault, deviation) as integer) as pair
    from effects
    where evidence = 'strong' and role = 'cause' and contrast_low > 1
),

calls as (
    select install_id, fault, min(reported_on) as reported_on
    from episodes
    where kind = 'episode' and is_answered_for
    group by install_id, fault
),

-- A door that came back with the fault for another's account is no example of either kind.
others as (
    select install_id, fault
    from episodes
    where not is_answered_for or kind <> 'episode'
    group by install_id, fault
),

showing as (
    select
        strongest.fault,
        strongest.deviation,
        strongest.pair,
        deviations.install_id,
        deviations."value",
        staged_installs.fitted_on,
        door_time.door_years,
        calls.reported_on,
        case when calls.install_id is null then 'did not' else 'came back' end as kind
    from strongest
    join deviations on deviations.deviation = strongest.deviation
    join staged_installs on staged_installs.install_id = deviations.install_id
    join door_time on door_time.install_id = deviations.install_id
    left join calls on calls.install_id = deviations.install_id and calls.fault = strongest.fault
    left join others on others.install_id = deviations.install_id and others.fault = strongest.fault
    where
        strongest.pair <= 3
        and door_time.door_years > 0
        and (calls.install_id is not null or others.install_id is null)
        and case
            when strongest.is_lower_worse then deviations."value" <= strongest.contrast_to
            else deviations."value" >= strongest.contrast_to and deviations."value" > 0
        end
),

placed as (
    select
        fault,
        deviation,
        kind,
        cast(
            row_number() over (
                partition by fault, deviation, kind
                order by reported_on desc nulls last, round(door_years, 6) desc, install_id
            ) as integer
        ) as place,
        pair,
        install_id,
        "value",
        fitted_on,
        door_years,
        reported_on,
        cast(count(*) over (partition by fault, deviation, kind) as integer) as doors_alike
    from showing
)

select fault, deviation, kind, place, pair, install_id, "value", fitted_on, door_years, reported_on, doors_alike
from placed
where place <= 5

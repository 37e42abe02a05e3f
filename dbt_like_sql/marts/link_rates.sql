-- link_rates: how the callbacks of each crew's doors were linked; bad paperwork is not random.
-- grain: one row per crew, one for the firm (`all`) and one for callbacks that no crew's door comes near (`none near`)
-- key: crew
-- columns:
--   crew            text     crew of the door; of a callback without a door, the crew of the likeliest door
--   callbacks       integer  all of them
--   by_install_id   integer  linked by the door's own number
--   by_job_no       integer  linked by a job number that stands on one door
--   matched         integer  linked by name, place, days and what else is written, or by a person
--   held_at_house   integer  house known, door not; counted by the crew of its likeliest door
--   doubtful        integer  no door, but this crew's is the likeliest; to be reviewed
--   unlinked        integer  no door comes near
--   linked_share    double   linked / callbacks, 0 to 1
with
-- One row per callback: the likeliest candidate, ties by door.
likeliest as (
    select doubtful_links.callback_id, staged_installs.crew
    from doubtful_links
    join staged_installs on staged_installs.install_id = doubtful_links.install_id
    qualify row_number() over (
        partition by doubtful_links.callback_id
        order by doubtful_links.probability desc, doubtful_links.install_id
    ) = 1
),

-- Both joins are on unique keys, so there is still one row per callback.
callbacks_by_crew as (
    select
        coalesce(staged_installs.crew, likeliest.crew, 'none near') as crew,
        case
            when linked_callbacks.how <> 'none' then linked_callbacks.how
            when likeliest.callback_id is null then 'unlinked'
            when linked_callbacks.site is not null then 'house'
            else 'doubtful'
        end as outcome
    from linked_callbacks
    left join staged_installs on staged_installs.install_id = linked_callbacks.install_id
    left join likeliest on likeliest.callback_id = linked_callbacks.callback_id
),

counted as (
    select crew, outcome from callbacks_by_crew
    union all
    select 'all' as crew, outcome from callbacks_by_crew
)

select
    crew,
    count(*) as callbacks,
    sum(case when outcome = 'install_id' then 1 else 0 end) as by_install_id,
    sum(case when outcome = 'job_no' then 1 else 0 end) as by_job_no,
    sum(case when outcome = 'matched' then 1 else 0 end) as matched,
    sum(case when outcome = 'house' then 1 else 0 end) as held_at_house,
    sum(case when outcome = 'doubtful' then 1 else 0 end) as doubtful,
    sum(case when outcome = 'unlinked' then 1 else 0 end) as unlinked,
    sum(case when outcome in ('install_id', 'job_no', 'matched') then 1.0 else 0.0 end) / count(*) as linked_share
from counted
group by crew

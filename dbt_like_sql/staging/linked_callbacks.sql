-- linked_callbacks: which door each callback belongs to, and how that is known.
-- grain: one row per callback_id
-- key: callback_id
-- columns:
--   callback_id       text     key
--   install_id        text     door; empty where none is known
--   how               text     install_id, job_no, matched or none
--   probability       double   chance that it is this door: 1 where a key or a person links it; empty without a door
--   site              text     house: the lowest install_id in it; given where the house is known but not which door
--   site_doors        integer  doors of that house that came into question
--   site_probability  double   chance that it is this house
--   is_reviewed       boolean  true: a person decided it on the review sheet
with
-- A door's number may say its job and which of its doors it is, C4114/1: as in pipeline/ingest/linking/job_numbers.py.
jobs_as_written as (
    select
        install_id,
        coalesce(job_no, nullif(regexp_extract(
            install_id, '^([^/]*[0-9]{3}[^/]*?) ?[-/.] ?(?:0?[1-9]|[A-Za-z])$', 1
        ), '')) as job_no
    from staged_installs
),

-- A job number is compared by its key, so that J-0042 and 42 are the same job.
door_jobs as (
    select jobs_as_written.install_id, coalesce(job_numbers.job_key, jobs_as_written.job_no) as job_key
    from jobs_as_written
    left join job_numbers on job_numbers.job_no = jobs_as_written.job_no
    where jobs_as_written.job_no is not null
),

-- A job number that stands on several doors cannot say which of them called back.
doors_of_one_job as (
    select job_key, min(install_id) as install_id
    from door_jobs
    group by job_key
    having count(*) = 1
),

-- All joins are on unique keys, so there is still one row per callback.
found as (
    select
        staged_callbacks.callback_id,
        by_door.install_id as by_install_id,
        doors_of_one_job.install_id as by_job_no,
        callback_matches.callback_id as decided,
        matched_door.install_id as by_match,
        callback_matches.probability,
        callback_matches.site,
        callback_matches.site_doors,
        callback_matches.site_probability,
        callback_matches.is_reviewed
    from staged_callbacks
    left join staged_installs as by_door on by_door.install_id = staged_callbacks.install_id
    left join job_numbers on job_numbers.job_no = staged_callbacks.job_no
    left join doors_of_one_job
        on doors_of_one_job.job_key = coalesce(job_numbers.job_key, staged_callbacks.job_no)
    left join callback_matches on callback_matches.callback_id = staged_callbacks.callback_id
    left join staged_installs as matched_door on matched_door.install_id = callback_matches.install_id
),

-- What linking decided goes before a job number: it decides where name or address contradicts the number.
judged as (
    select
        callback_id,
        case
            when by_install_id is not null then by_install_id
            when decided is not null then by_match
            else by_job_no
        end as install_id,
        case
            when by_install_id is not null then 'install_id'
            when decided is not null and by_match is not null then 'matched'
            when decided is null and by_job_no is not null then 'job_no'
            else 'none'
        end as how,
        probability,
        site,
        site_doors,
        site_probability,
        is_reviewed
    from found
)

select
    callback_id,
    install_id,
    how,
    case when how = 'matched' then probability when install_id is not null then 1.0 end as probability,
    case when how = 'none' then site end as site,
    case when how = 'none' then site_doors end as site_doors,
    case when how = 'none' then site_probability end as site_probability,
    coalesce(how in ('matched', 'none') and is_reviewed, false) as is_reviewed
from judged

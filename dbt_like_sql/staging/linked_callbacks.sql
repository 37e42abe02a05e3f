-- linked_callbacks: which door each callback belongs to, and how that is known.
-- grain: one row per callback_id
-- key: callback_id
-- columns:
--   callback_id  text    key
--   install_id   text    door; empty where none is known
--   how          text    install_id, job_no or none
--   probability  double  1 where a key links it; empty where none does
with
-- A job number that stands on several doors cannot say which of them called back.
doors_of_one_job as (
    select job_no, min(install_id) as install_id
    from staged_installs
    where job_no is not null
    group by job_no
    having count(*) = 1
),

-- Both joins are on unique keys, so there is still one row per callback.
found as (
    select
        staged_callbacks.callback_id,
        staged_installs.install_id as by_install_id,
        doors_of_one_job.install_id as by_job_no
    from staged_callbacks
    left join staged_installs on staged_installs.install_id = staged_callbacks.install_id
    left join doors_of_one_job on doors_of_one_job.job_no = staged_callbacks.job_no
)

select
    callback_id,
    coalesce(by_install_id, by_job_no) as install_id,
    case
        when by_install_id is not null then 'install_id'
        when by_job_no is not null then 'job_no'
        else 'none'
    end as how,
    case when coalesce(by_install_id, by_job_no) is not null then 1.0 end as probability
from found

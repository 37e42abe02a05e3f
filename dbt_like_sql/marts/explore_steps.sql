-- explore_steps: doors with something out in a step, by the period of fitting, for the linked sheet.
-- grain: one row per crew, product, period of fitting and step with anything recorded in it
-- key: crew, product, period, step
-- columns:
--   crew             text     part of the key, as in explore_time
--   product          text     part of the key, as in explore_time
--   period           text     part of the key; of explore_periods, by the day of fitting
--   step             text     part of the key; step of the work
--   doors            integer  doors with anything recorded in the step
--   doors_out        integer  of them, doors with at least one limit out or one check failed
--   doors_undecided  integer  of them, doors not out, with a limit that the measurement cannot decide
select
    explore_doors.crew,
    explore_doors.product,
    explore_periods.period,
    door_steps.step,
    cast(count(*) as integer) as doors,
    cast(sum(case when door_steps.is_out then 1 else 0 end) as integer) as doors_out,
    cast(sum(case when door_steps.is_undecided then 1 else 0 end) as integer) as doors_undecided
from door_steps
join explore_doors on explore_doors.install_id = door_steps.install_id
join explore_periods
    on explore_doors.fitted_on >= explore_periods.starts_on and explore_doors.fitted_on < explore_periods.ends_on
group by explore_doors.crew, explore_doors.product, explore_periods.period, door_steps.step

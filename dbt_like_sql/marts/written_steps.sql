-- written_steps: the readings as whole numbers of the step to which their crew writes them; the last digits of these.
-- grain: one row per door, measure and number of steps
-- key: none
-- kind: view
-- columns:
--   install_id  text     door
--   crew        text     who fitted it
--   measure     text     what was measured
--   step        double   in the measure's unit
--   steps       integer  the reading over the step, rounded
--   readings    integer  how many readings of the door are that
select
    offset_readings.install_id,
    offset_readings.crew,
    offset_readings.measure,
    recording_steps.step,
    cast(round(offset_readings."value" / recording_steps.step) as bigint) as steps,
    count(*) as readings
from offset_readings
join recording_steps
    on recording_steps.crew = offset_readings.crew and recording_steps.measure = offset_readings.measure
-- under five steps of spread honest last digits are uneven by themselves
where recording_steps.step is not null and recording_steps.spread >= 5 * recording_steps.step
group by
    offset_readings.install_id, offset_readings.crew, offset_readings.measure, recording_steps.step,
    cast(round(offset_readings."value" / recording_steps.step) as bigint)

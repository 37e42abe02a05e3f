-- own_unit_readings: the readings, written in the measure's own unit, of the doors on which the records are tested.
-- Only these, since another unit has other round numbers.
-- grain: one row per counted reading of the doors in credibility_doors
-- key: none
-- kind: view
-- columns:
--   install_id   text     door
--   crew         text     who fitted it
--   measure      text     what was measured
--   member       text     which member or leaf; '' where none is named
--   station      text     named or numbered place
--   value        double   in the measure's unit
select
    counted_readings.install_id,
    credibility_doors.crew,
    counted_readings.measure,
    counted_readings.member,
    coalesce(counted_readings.station, '') as station,
    counted_readings."value"
from counted_readings
-- unique on install_id: no reading doubles
join credibility_doors on credibility_doors.install_id = counted_readings.install_id
where not counted_readings.is_implied and counted_readings.converted_step is null

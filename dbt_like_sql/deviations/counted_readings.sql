-- counted_readings: the readings that may count for a door's deviations, streamed.
-- grain: one row per reading dated within the door's window, or undated
-- key: none
-- kind: view
-- left out: readings after handover or from the first callback on: another epoch of the door
-- columns:
--   install_id     text    door
--   measure        text    what was measured
--   member         text    which frame member or leaf
--   station        text    named or numbered place on it
--   position_mm    double  mm along the member
--   value          double  in the measure's unit
--   instrument     text    what it was measured with
--   read_on        date    day of the reading; empty: undated
--   written_value  double  the number as written where it was converted
--   written_unit   text    the unit as written where it was converted
select
    staged_readings.install_id,
    staged_readings.measure,
    staged_readings.member,
    staged_readings.station,
    staged_readings.position_mm,
    staged_readings."value",
    staged_readings.instrument,
    staged_readings.read_on,
    staged_readings.written_value,
    staged_readings.written_unit
from staged_readings
-- reading_windows is unique on install_id: no reading doubles
join reading_windows on reading_windows.install_id = staged_readings.install_id
where staged_readings.read_on is null or staged_readings.read_on <= reading_windows.last_on

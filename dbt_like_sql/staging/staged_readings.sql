-- staged_readings: every reading taken in that tells a number, canonical units. A view: ten million rows stream
-- through it.
-- grain: one row per reading, and one implied zero beside readings of a lean
-- key: none
-- kind: view
-- each door: by itself
-- columns:
--   install_id     text    door
--   measure        text    what was measured
--   member         text    which frame member or leaf
--   station        text    named or numbered place on it
--   position_mm    double  mm along the member
--   value          double  in the measure's own unit
--   instrument     text    what it was measured with
--   read_on        date    day of the reading; empty: undated
--   read_by        text    who read it
--   written_value  double  the number as written where it was converted; empty in an implied zero
--   written_unit   text    the unit as written where it was converted
select
    readings.install_id,
    readings.measure,
    readings.member,
    readings.station,
    readings.position_mm,
    readings."value",
    readings.instrument,
    readings.read_on,
    readings.read_by,
    readings.written_value,
    readings.written_unit
from readings
where readings."value" is not null

union all

-- A lean in degrees or mm/m is read against a plumb line, so it implies a zero at its lower end: with it, one lean
-- makes a slope. Distinct: however many leans were read on a member, they share that one zero.
select distinct
    readings.install_id,
    readings.measure,
    readings.member,
    cast(null as varchar) as station,
    0.0 as position_mm,
    0.0 as "value",
    readings.instrument,
    readings.read_on,
    readings.read_by,
    cast(null as double) as written_value,
    readings.written_unit
from readings
where readings.written_unit in ('deg', 'mm/m')

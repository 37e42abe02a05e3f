-- offset_readings: the readings whose last digits, spread and repetition say something of how they came about.
-- Gaps, offsets and forces do. Lengths of whole members stand near round sizes, fixings and packers follow a plan and
-- counts are small, so that honest ones are alike.
-- grain: one row per reading of such a measure in own_unit_readings
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
    own_unit_readings.install_id,
    own_unit_readings.crew,
    own_unit_readings.measure,
    own_unit_readings.member,
    own_unit_readings.station,
    own_unit_readings."value"
from own_unit_readings
-- unique on name: no reading doubles
join catalogue_measures on catalogue_measures.name = own_unit_readings.measure
where catalogue_measures.unit not in ('count', '°C')
    and coalesce(catalogue_measures.low, 0.0) < 100.0
    and own_unit_readings.measure not in ('fixing', 'packer')

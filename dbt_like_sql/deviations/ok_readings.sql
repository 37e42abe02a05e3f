-- ok_readings: readings that only say that they were within what was allowed; never a number, never zero.
-- grain: one row per install_id, measure and member with any
-- key: install_id, measure, member
-- each door: by itself
-- columns:
--   install_id  text     part of the key
--   measure     text     part of the key
--   member      text     part of the key; '' where none is named
--   readings    integer  how many say so, up to handover (else fitting) and the door's first callback, or undated
select
    readings.install_id,
    readings.measure,
    coalesce(readings.member, '') as member,
    count(*) as readings
from readings
join reading_windows on reading_windows.install_id = readings.install_id
where readings."value" is null and (readings.read_on is null or readings.read_on <= reading_windows.last_on)
group by readings.install_id, readings.measure, coalesce(readings.member, '')

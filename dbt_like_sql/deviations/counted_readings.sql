-- counted_readings: the readings that may count for a door's deviations, streamed.
-- A sill or head read at left, centre and right, or a jamb at bottom, middle and top, is read at the ends and middle of
-- the door's width or height: what comes of it, lean and bow, does not hang on the exact length.
-- grain: one row per reading dated within the door's window, or undated, and its implied zeros
-- key: none
-- kind: view
-- left out: readings after handover or from the first callback on: another epoch of the door
-- each door: by itself
-- columns:
--   install_id      text     door
--   measure         text     what was measured
--   member          text     which frame member or leaf; '' where none is named
--   station         text     named or numbered place on it
--   position_mm     double   mm along the member; where only left, centre, right is written, a part of the door
--   value           double   in the measure's unit
--   instrument      text     what it was measured with; '' where none is named
--   read_on         date     day of the reading; empty: undated
--   is_implied      boolean  the zero that a lean implies: no reading of its own
--   converted_step  double   where it was converted: the finest decimal place as written, in the measure's unit
select
    staged_readings.install_id,
    staged_readings.measure,
    coalesce(staged_readings.member, '') as member,
    staged_readings.station,
    case
        when staged_readings.position_mm is not null or staged_readings.station is null
            then staged_readings.position_mm
        when staged_readings.measure in ('sill_height', 'sill_line', 'sill_tilt', 'clear_height')
            then reading_windows.width_mm * case lower(staged_readings.station)
                when 'left' then 0.0
                when 'centre' then 0.5
                when 'right' then 1.0
                -- a share of the width, such as 25%
                else case when right(staged_readings.station, 1) = '%'
                    then try_cast(replace(staged_readings.station, '%', 'e-2') as double)
                end
            end
        when staged_readings.measure in ('jamb_face', 'jamb_edge')
            then reading_windows.height_mm * case lower(staged_readings.station)
                when 'bottom' then 0.0
                when 'middle' then 0.5
                when 'centre' then 0.5
                when 'top' then 1.0
                else case when right(staged_readings.station, 1) = '%'
                    then try_cast(replace(staged_readings.station, '%', 'e-2') as double)
                end
            end
    end as position_mm,
    staged_readings."value",
    coalesce(staged_readings.instrument, '') as instrument,
    staged_readings.read_on,
    staged_readings.written_unit is not null and staged_readings.written_value is null as is_implied,
    abs(staged_readings."value" / nullif(staged_readings.written_value, 0)) * case
        -- inches and feet are written in halves, quarters, eighths ...: 0.125 is an eighth, not three decimals
        when staged_readings.written_unit in ('in', 'ft')
            and staged_readings.written_value * 64 = round(staged_readings.written_value * 64)
            then case
                when staged_readings.written_value = round(staged_readings.written_value) then 1.0
                when staged_readings.written_value * 2 = round(staged_readings.written_value * 2) then 1.0 / 2
                when staged_readings.written_value * 4 = round(staged_readings.written_value * 4) then 1.0 / 4
                when staged_readings.written_value * 8 = round(staged_readings.written_value * 8) then 1.0 / 8
                when staged_readings.written_value * 16 = round(staged_readings.written_value * 16) then 1.0 / 16
                when staged_readings.written_value * 32 = round(staged_readings.written_value * 32) then 1.0 / 32
                else 1.0 / 64
            end
        when staged_readings.written_value = round(staged_readings.written_value) then 1.0
        when staged_readings.written_value = round(staged_readings.written_value, 1) then 0.1
        when staged_readings.written_value = round(staged_readings.written_value, 2) then 0.01
        when staged_readings.written_value = round(staged_readings.written_value, 3) then 0.001
        else 0.0001
    end as converted_step
from staged_readings
-- reading_windows is unique on install_id: no reading doubles
join reading_windows on reading_windows.install_id = staged_readings.install_id
where staged_readings.read_on is null or staged_readings.read_on <= reading_windows.last_on

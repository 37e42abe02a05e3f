-- settled_readings: one reading a place, for the members on which a place may have been read more than once.
-- Of several readings of one place (station, position) the latest day counts, undated ones being the earliest; those of
-- one day are averaged. Readings that name no place are places of their own, so of these the latest day counts whole; a
-- fixing or packer without a number is the place that it is read at.
-- grain: one row per place of a questioned member
-- key: install_id, measure, member, place
-- each door: by itself
-- columns:
--   install_id      text     part of the key
--   measure         text     part of the key
--   member          text     part of the key; '' where none is named
--   place           integer  part of the key: 1, 2, ... within the member
--   station         text     named or numbered place
--   position_mm     double   mm along the member
--   value           double   mean of the place's readings, in the measure's unit
--   instrument      text     what it was measured with, the last by name of several; '' where none is named
--   read_on         date     day of these readings; empty: undated
--   is_implied      boolean  the zero that a lean implies: no reading of its own
--   converted_step  double   where converted: the finest decimal place as written, in the measure's unit
--   repeat_squares  double   sum of squares of the place's readings about their mean
--   repeat_freedom  integer  degrees of freedom of these
with
questioned as (
    select install_id, measure, member
    from reading_fits
    where is_questioned
),

-- questioned is unique on its three columns: no reading doubles.
seen as (
    select
        counted_readings.*,
        max(counted_readings.read_on) over (
            partition by
                counted_readings.install_id, counted_readings.measure, counted_readings.member,
                counted_readings.station, counted_readings.position_mm,
                case
                    when counted_readings.measure in ('fixing', 'packer') and counted_readings.station is null
                        then counted_readings."value"
                end
        ) as latest_on,
        case when counted_readings.station is null and counted_readings.position_mm is null then row_number() over (
            partition by counted_readings.install_id, counted_readings.measure, counted_readings.member
            order by
                counted_readings.read_on, counted_readings."value", counted_readings.instrument,
                counted_readings.is_implied, counted_readings.converted_step
        ) end as own_place
    from counted_readings
    join questioned
        on questioned.install_id = counted_readings.install_id
        and questioned.measure = counted_readings.measure
        and questioned.member = counted_readings.member
),

places as (
    select
        install_id,
        measure,
        member,
        station,
        position_mm,
        own_place,
        avg("value") as "value",
        max(instrument) as instrument,
        max(read_on) as read_on,
        bool_or(is_implied) as is_implied,
        min(converted_step) as converted_step,
        case when bool_or(is_implied) then 0.0 else var_pop("value") * count(*) end as repeat_squares,
        case when bool_or(is_implied) then 0 else count(*) - 1 end as repeat_freedom
    from seen
    where read_on is not distinct from latest_on
    group by install_id, measure, member, station, position_mm, own_place
)

select
    install_id,
    measure,
    member,
    row_number() over (
        partition by install_id, measure, member
        order by station, position_mm, own_place
    ) as place,
    station,
    position_mm,
    "value",
    instrument,
    read_on,
    is_implied,
    converted_step,
    repeat_squares,
    repeat_freedom
from places

-- reading_blocks: what one door's readings along one member look like as a block: whose twin they are, how they spread.
-- grain: one row per door, measure and member
-- key: install_id, measure, member
-- columns:
--   install_id  text     part of the key
--   measure     text     part of the key
--   member      text     part of the key; '' where none is named
--   crew        text     who fitted the door
--   step        double   step to which the crew writes the measure; empty where none holds
--   readings    integer  readings in the block
--   twin        integer  the same number for the crew's blocks of this measure and member with the same readings at the
--                        same stations; empty where all readings of the block are alike
--   is_flat     boolean  one and the same value throughout; empty under three readings
--   spread      double   standard deviation, in the measure's unit; empty under three readings
with
blocks as (
    select
        install_id,
        measure,
        member,
        crew,
        count(*) as readings,
        min("value") < max("value") as differs,
        case when count(*) >= 3 then stddev_samp("value") end as spread,
        array_to_string(list_sort(list(concat(station, '=', cast("value" as varchar)))), ';') as written
    from offset_readings
    group by install_id, measure, member, crew
)

-- recording_steps is unique on crew and measure: a block stays one row
select
    blocks.install_id,
    blocks.measure,
    blocks.member,
    blocks.crew,
    recording_steps.step,
    blocks.readings,
    case when blocks.differs then dense_rank() over (
        partition by blocks.crew, blocks.measure, blocks.member order by blocks.written
    ) end as twin,
    case when blocks.readings >= 3 then not blocks.differs end as is_flat,
    blocks.spread
from blocks
join recording_steps on recording_steps.crew = blocks.crew and recording_steps.measure = blocks.measure

-- reading_blocks: what one door's readings of one measure look like as a block: whose twin they are, how they spread.
-- grain: one row per door and measure
-- key: install_id, measure
-- columns:
--   install_id  text     part of the key
--   measure     text     part of the key
--   crew        text     who fitted the door
--   step        double   step to which the crew writes the measure; empty where none holds
--   readings    integer  readings in the block
--   twin        integer  the same number for the crew's blocks of this measure with the same readings at the same
--                        places; empty where all readings of the block are alike
--   boxes       integer  members with three readings or more
--   flat        integer  of these, members with one and the same value throughout
--   spread      double   mean over these of the standard deviation, in the measure's unit; empty without such
with
members as (
    select
        install_id,
        crew,
        measure,
        member,
        count(*) as readings,
        min("value") as low,
        max("value") as high,
        case when count(*) >= 3 then stddev_samp("value") end as spread,
        array_to_string(list_sort(list(concat(station, '=', cast("value" as varchar)))), ';') as written
    from offset_readings
    group by install_id, crew, measure, member
),

blocks as (
    select
        install_id,
        crew,
        measure,
        cast(sum(readings) as bigint) as readings,
        min(low) < max(high) as differs,
        array_to_string(list_sort(list(concat(member, ':', written))), '/') as written,
        cast(sum(case when readings >= 3 then 1 else 0 end) as bigint) as boxes,
        cast(sum(case when readings >= 3 and low = high then 1 else 0 end) as bigint) as flat,
        avg(spread) as spread
    from members
    group by install_id, crew, measure
)

-- recording_steps is unique on crew and measure: a block stays one row
select
    blocks.install_id,
    blocks.measure,
    blocks.crew,
    recording_steps.step,
    blocks.readings,
    case when blocks.differs then dense_rank() over (
        partition by blocks.crew, blocks.measure order by blocks.written
    ) end as twin,
    blocks.boxes,
    blocks.flat,
    blocks.spread
from blocks
join recording_steps on recording_steps.crew = blocks.crew and recording_steps.measure = blocks.measure

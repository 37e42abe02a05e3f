-- reading_fits: the readings of one measure on one member of a door, reduced to what deviations are made of.
-- Of several readings of one place the latest counts. Only groups read on more than one day can hold such, so only
-- those take the second look.
-- grain: one row per install_id, measure and member
-- key: install_id, measure, member
-- columns:
--   install_id       text      part of the key
--   measure          text      part of the key
--   member           text      part of the key; '' where none is named
--   instrument       text      what it was measured with
--   n                integer   readings
--   undated          integer   of these, undated
--   low              double    smallest reading
--   high             double    largest reading
--   total            double    sum of the readings
--   lean             double    least-squares slope times span, signed; empty under two places
--   lean_factor      double    standard uncertainty of lean over that of one reading
--   span             double    mm between first and last place
--   bow              double    largest residual from the least-squares line; empty under three places
--   bow_factor       double    its standard uncertainty over that of one reading
--   chord_bow        double    largest offset from the line through first and last place; empty under three
--   gap              double    largest step between neighbouring readings in order of size; empty under two
--   value_at_low     double    reading at the lowest position
--   value_at_high    double    reading at the highest position
--   first_mean       double    mean at hinge, top or rising
--   second_mean      double    mean at lock, bottom or falling
--   first_position   double    mm, where these were read
--   second_position  double    mm, where these were read
--   difference       double    first_mean - second_mean, else the larger of two readings less the smaller
--   places           double[]  the readings themselves, for measures that are places
--   step             double    finest step written, in the measure's unit
with
curved as (
    select measure from catalogue_deviations where how = 'bow'
),

spaced as (
    select 'fixing' as measure
    union all
    select 'packer' as measure
    union all
    select measure from catalogue_deviations where how = 'step'
),

by_day as (
    select
        install_id,
        measure,
        coalesce(member, '') as member,
        coalesce(read_on, date '1900-01-01') as day,
        max(instrument) as instrument,
        count(*) as n,
        count(*) - count(read_on) as undated,
        min("value") as low,
        max("value") as high,
        sum("value") as total,
        count(position_mm) as n_placed,
        min(position_mm) as position_low,
        max(position_mm) as position_high,
        avg(position_mm) as position_mean,
        regr_slope("value", position_mm) as slope,
        regr_sxx("value", position_mm) as sxx,
        avg(case when position_mm is not null then "value" end) as placed_mean,
        arg_min("value", position_mm) as value_at_low,
        arg_max("value", position_mm) as value_at_high,
        avg(case when station in ('hinge', 'top', 'rising') then "value" end) as first_mean,
        avg(case when station in ('lock', 'bottom', 'falling') then "value" end) as second_mean,
        avg(case when station in ('hinge', 'top', 'rising') then position_mm end) as first_position,
        avg(case when station in ('lock', 'bottom', 'falling') then position_mm end) as second_position,
        min(case
            when coalesce(written_value, "value") = round(coalesce(written_value, "value")) then 1.0
            when coalesce(written_value, "value") = round(coalesce(written_value, "value"), 1) then 0.1
            when coalesce(written_value, "value") = round(coalesce(written_value, "value"), 2) then 0.01
            when coalesce(written_value, "value") = round(coalesce(written_value, "value"), 3) then 0.001
            else 0.0001
        end * case written_unit
            when 'cm' then 10.0
            when 'm' then 1000.0
            when 'in' then 25.4
            when 'ft' then 304.8
            else 1.0
        end) as step,
        list(struct_pack(p := position_mm, v := "value")) filter (
            where position_mm is not null and measure in (select measure from curved)
        ) as points,
        list("value") filter (where measure in (select measure from spaced)) as places
    from counted_readings
    group by install_id, measure, coalesce(member, ''), coalesce(read_on, date '1900-01-01')
),

revisited as (
    select install_id, measure, member
    from by_day
    group by install_id, measure, member
    having count(*) > 1
),

-- revisited is unique on its three columns: no reading doubles. Undated readings are taken as the earliest.
latest as (
    select
        counted_readings.*,
        row_number() over (
            partition by
                counted_readings.install_id, counted_readings.measure, counted_readings.member,
                counted_readings.station, counted_readings.position_mm,
                -- a fixing that carries no number is its own place
                case
                    when counted_readings.station is null and counted_readings.measure in ('fixing', 'packer')
                        then counted_readings."value"
                end
            order by coalesce(counted_readings.read_on, date '1900-01-01') desc, counted_readings."value"
        ) as turn
    from counted_readings
    join revisited
        on revisited.install_id = counted_readings.install_id
        and revisited.measure = counted_readings.measure
        and revisited.member = coalesce(counted_readings.member, '')
),

again as (
    select
        install_id,
        measure,
        coalesce(member, '') as member,
        date '1900-01-01' as day,
        max(instrument) as instrument,
        count(*) as n,
        count(*) - count(read_on) as undated,
        min("value") as low,
        max("value") as high,
        sum("value") as total,
        count(position_mm) as n_placed,
        min(position_mm) as position_low,
        max(position_mm) as position_high,
        avg(position_mm) as position_mean,
        regr_slope("value", position_mm) as slope,
        regr_sxx("value", position_mm) as sxx,
        avg(case when position_mm is not null then "value" end) as placed_mean,
        arg_min("value", position_mm) as value_at_low,
        arg_max("value", position_mm) as value_at_high,
        avg(case when station in ('hinge', 'top', 'rising') then "value" end) as first_mean,
        avg(case when station in ('lock', 'bottom', 'falling') then "value" end) as second_mean,
        avg(case when station in ('hinge', 'top', 'rising') then position_mm end) as first_position,
        avg(case when station in ('lock', 'bottom', 'falling') then position_mm end) as second_position,
        min(case
            when coalesce(written_value, "value") = round(coalesce(written_value, "value")) then 1.0
            when coalesce(written_value, "value") = round(coalesce(written_value, "value"), 1) then 0.1
            when coalesce(written_value, "value") = round(coalesce(written_value, "value"), 2) then 0.01
            when coalesce(written_value, "value") = round(coalesce(written_value, "value"), 3) then 0.001
            else 0.0001
        end * case written_unit
            when 'cm' then 10.0
            when 'm' then 1000.0
            when 'in' then 25.4
            when 'ft' then 304.8
            else 1.0
        end) as step,
        list(struct_pack(p := position_mm, v := "value")) filter (
            where position_mm is not null and measure in (select measure from curved)
        ) as points,
        list("value") filter (where measure in (select measure from spaced)) as places
    from latest
    where turn = 1
    group by install_id, measure, coalesce(member, '')
),

grouped as (
    select by_day.*
    from by_day
    left join revisited
        on revisited.install_id = by_day.install_id
        and revisited.measure = by_day.measure
        and revisited.member = by_day.member
    where revisited.install_id is null
    union all
    select again.* from again
),

-- Each point's offset from both lines, with what its uncertainty needs; the largest is taken below.
measured as (
    select
        grouped.*,
        case when n_placed > 1 and sxx > 0 then slope * (position_high - position_low) end as lean,
        case when n_placed > 1 and sxx > 0 then (position_high - position_low) / sqrt(sxx) end as lean_factor,
        case when n_placed > 2 and sxx > 0 then list_max(list_transform(points, lambda point: struct_pack(
            size := abs(point.v - placed_mean - slope * (point.p - position_mean)),
            factor := sqrt(greatest(1 - 1.0 / n_placed - power(point.p - position_mean, 2) / sxx, 0.0))
        ))) end as worst,
        case when n_placed > 2 and position_high > position_low then list_max(list_transform(points, lambda point:
            abs(point.v - value_at_low
                - (value_at_high - value_at_low) * (point.p - position_low) / (position_high - position_low))
        )) end as chord_bow,
        list_max(list_transform(places, lambda place:
            list_min(list_filter(places, lambda other: other > place)) - place
        )) as gap
    from grouped
)

select
    install_id,
    measure,
    member,
    instrument,
    n,
    undated,
    low,
    high,
    total,
    lean,
    lean_factor,
    position_high - position_low as span,
    worst.size as bow,
    worst.factor as bow_factor,
    chord_bow,
    gap,
    value_at_low,
    value_at_high,
    first_mean,
    second_mean,
    first_position,
    second_position,
    case
        when first_mean is not null and second_mean is not null then first_mean - second_mean
        when n = 2 and first_mean is null and second_mean is null then high - low
    end as difference,
    places,
    step
from measured

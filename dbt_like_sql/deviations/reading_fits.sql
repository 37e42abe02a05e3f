-- reading_fits: the readings of one measure on one member of a door, reduced to what deviations are made of.
-- One pass over the long table, as if every place had been read once; members on which a place may stand twice are
-- marked, and repeated_fits holds what they come to.
-- grain: one row per install_id, measure and member
-- key: install_id, measure, member
-- slices: reading_windows
-- each door: by itself
-- columns:
--   install_id     text      part of the key
--   measure        text      part of the key
--   member         text      part of the key; '' where none is named
--   instrument     text      what it was measured with, the last by name of several; '' where none is named
--   n              integer   readings behind the fit; a place read twice is one
--   undated        integer   of these, undated
--   low            double    smallest reading
--   high           double    largest reading
--   mean           double    mean of the readings
--   lean           double    least-squares slope on position times span, signed; empty under two positions
--   lean_factor    double    standard uncertainty of lean over that of one reading
--   span           double    mm between first and last position
--   bow            double    largest residual from the least-squares line; empty under three positions
--   bow_factor     double    its standard uncertainty over that of one reading
--   chord_bow      double    largest offset from the line through first and last position; empty under three
--   chord_factor   double    its standard uncertainty over that of one reading
--   value_at_low   double    reading at the lowest position
--   value_at_high  double    reading at the highest position
--   gap            double    largest step between neighbours in order of size; empty under two readings
--   difference     double    hinge, top or rising less lock, bottom or falling; else of two readings the larger less
--                            the smaller; empty otherwise
--   is_sided       boolean   difference has a sign: both sides were named
--   places         double[]  the readings themselves in order of size, of measures that are places along a member
--   step           double    finest decimal place of the readings as written, in the measure's unit
--   is_questioned  boolean   a place may stand twice: repeated_fits has its fit
with
-- What a measure's deviations ask for; what nobody asks for is not worked out.
wanted as (
    select
        name as measure,
        name in (select measure from catalogue_deviations where how = 'bow') as is_curved,
        name in ('sill_height', 'frame_width', 'frame_height', 'aperture_width', 'aperture_height') as has_ends,
        name in ('fixing', 'packer') or name in (select measure from catalogue_deviations where how = 'step')
            as is_spaced
    from catalogue_measures
),

-- side: the end of a leaf or a diagonal that was read; 0 for any other place or none.
sided as (
    select
        counted_readings.*,
        case
            when station in ('hinge', 'top', 'rising') then 1
            when station in ('lock', 'bottom', 'falling') then -1
            else 0
        end as side
    from counted_readings
),

-- station_bits: bits 0 and 1 are the two sides; the other bits are shared out among whatever else a station may be
-- called. Stations that happen to share a bit only cost a second look.
gathered as (
    select
        install_id,
        measure,
        member,
        max(instrument) as instrument,
        count(*) as n_rows,
        count(case when is_implied then 1 end) as n_implied,
        count(read_on) as n_dated,
        min(read_on) as first_on,
        max(read_on) as last_on,
        min("value") as low,
        max("value") as high,
        avg("value") as mean,
        regr_avgx("value", position_mm) as at_mean,
        regr_avgy("value", position_mm) as v_mean,
        regr_slope("value", position_mm) as slope,
        regr_sxx("value", position_mm) as sxx,
        sum(side * "value") as signed_sum,
        count(station) as n_stationed,
        bit_or(cast(1 as bigint) << case
            when side = 1 then 0
            when side = -1 then 1
            else 2 + (58 * ascii(station) + 50 * length(station) + 45 * ascii(right(station, 1))) % 59
        end) as station_bits,
        min(converted_step) as converted_step,
        list(struct_pack(at := position_mm, v := "value")) filter (where position_mm is not null) as points,
        list("value") filter (where position_mm is null and (side = 0 or measure in ('fixing', 'packer')))
            as unpositioned
    from sided
    group by install_id, measure, member
),

-- wanted is unique on measure: no row doubles
centred as (
    select
        gathered.*,
        wanted.is_curved,
        wanted.has_ends,
        list_sort(case
            when not wanted.is_spaced then null
            when points is null then unpositioned
            when unpositioned is null then list_transform(points, lambda point: point.v)
            else list_concat(unpositioned, list_transform(points, lambda point: point.v))
        end) as places,
        coalesce(array_length(points), 0) as n_points,
        list_transform(points, lambda point: point.at) as positions
    from gathered
    join wanted on wanted.measure = gathered.measure
),

spanned as (
    select
        centred.*,
        list_min(positions) as at_low,
        list_max(positions) as at_high,
        coalesce(array_length(list_distinct(positions)), 0) as n_positions
    from centred
),

-- square stays empty where all readings stand at one position: the slope is NaN there, not null
sloped as (
    select
        spanned.*,
        case when n_positions > 1 then sxx end as square,
        case when has_ends and n_positions > 1 then list_max(list_transform(points, lambda point:
            case when point.at = at_low then point.v end)) end as value_at_low,
        case when has_ends and n_positions > 1 then list_max(list_transform(points, lambda point:
            case when point.at = at_high then point.v end)) end as value_at_high
    from spanned
),

-- Offsets from both lines; of structs the largest first field comes last in order, so the largest offset wins and
-- brings its position, of several as large the last. A slope's last digits hang on the order of summing: nine places.
bowed as (
    select
        sloped.*,
        case when is_curved and n_positions > 2 then list_max(list_transform(points, lambda point: struct_pack(
            size := round(abs(point.v - v_mean - slope * (point.at - at_mean)), 9), at := point.at
        ))) end as bow,
        case when is_curved and has_ends and n_positions > 2 then list_max(list_transform(points, lambda point:
            struct_pack(
                size := abs(point.v - value_at_low
                    - (value_at_high - value_at_low) * (point.at - at_low) / (at_high - at_low)),
                at := point.at
            ))) end as chord
    from sloped
)

select
    install_id,
    measure,
    member,
    instrument,
    n_rows - n_implied as n,
    -- an implied zero is dated as its reading is
    n_rows - n_dated - case when n_dated = 0 then n_implied else 0 end as undated,
    low,
    high,
    mean,
    case when n_positions > 1 then slope * (at_high - at_low) end as lean,
    -- an implied zero has no error of its own
    (at_high - at_low)
        * sqrt(greatest(square - case when n_implied > 0 then at_mean * at_mean else 0.0 end, 0.0)) / square
        as lean_factor,
    at_high - at_low as span,
    bow.size as bow,
    sqrt(greatest(1 - 1.0 / n_points - (bow.at - at_mean) * (bow.at - at_mean) / square, 0.0)) as bow_factor,
    chord.size as chord_bow,
    -- the chord's ends are readings too
    sqrt(
        1 + power((chord.at - at_low) / (at_high - at_low), 2) + power((at_high - chord.at) / (at_high - at_low), 2)
    ) as chord_factor,
    value_at_low,
    value_at_high,
    case when array_length(places) > 1 then coalesce(list_max(list_transform(places, lambda place:
        list_min(list_filter(places, lambda other: other > place)) - place)), 0.0) end as gap,
    case
        when (station_bits & 3) = 3 then signed_sum
        when coalesce(station_bits & 3, 0) = 0 and n_rows = 2 then high - low
    end as difference,
    coalesce(station_bits & 3, 0) = 3 as is_sided,
    places,
    -- low, high and total of a member show the decimal places of its readings
    coalesce(converted_step, case
        when abs(low - round(low)) + abs(high - round(high)) + abs(mean * n_rows - round(mean * n_rows)) < 1e-6
            then 1.0
        when abs(low - round(low, 1)) + abs(high - round(high, 1))
            + abs(mean * n_rows - round(mean * n_rows, 1)) < 1e-6 then 0.1
        when abs(low - round(low, 2)) + abs(high - round(high, 2))
            + abs(mean * n_rows - round(mean * n_rows, 2)) < 1e-6 then 0.01
        when abs(low - round(low, 3)) + abs(high - round(high, 3))
            + abs(mean * n_rows - round(mean * n_rows, 3)) < 1e-6 then 0.001
        else 0.0001
    end) as step,
    case
        when n_points = n_rows then n_positions < n_rows
        when n_points > 0 then true
        else n_stationed > coalesce(bit_count(station_bits), 0)
            or (
                n_rows - n_stationed > 1 and measure not in ('fixing', 'packer')
                and (coalesce(first_on < last_on, false) or (n_dated > 0 and n_dated < n_rows))
            )
    end as is_questioned
from bowed

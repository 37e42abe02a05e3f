-- tape_misclosures: how far six lengths of one frame fail to close, a test of the record and not of the door.
-- Placed with the sill along x, the corners follow from sill, jambs and diagonals; m = head - distance of the upper
-- corners. The frame's six lengths are taken where there are six, else the opening's.
-- grain: one row per install_id and deviation
-- key: install_id, deviation
-- columns:
--   install_id   text     part of the key
--   deviation    text     part of the key
--   value        double   in the deviation's unit; empty where there are too few readings
--   unclipped    double   the same before it was cut at 0; empty where nothing is cut
--   uncertainty  double   standard uncertainty; empty for counts and shares
--   readings     integer  readings behind it
--   undated      integer  of these, undated
with
lengths as (
    select
        reading_fits.install_id,
        case when reading_fits.measure like 'frame%' then 'frame' else 'aperture' end as what,
        max(case when measure_kind.kind = 'width' then reading_fits.value_at_low end) as sill,
        max(case when measure_kind.kind = 'width' then reading_fits.value_at_high end) as head,
        max(case when measure_kind.kind = 'width' then reading_fits.span end) as width_span,
        max(case when measure_kind.kind = 'height' then reading_fits.value_at_low end) as left_jamb,
        max(case when measure_kind.kind = 'height' then reading_fits.value_at_high end) as right_jamb,
        max(case when measure_kind.kind = 'height' then reading_fits.span end) as height_span,
        max(case when measure_kind.kind = 'diagonal' then reading_fits.first_mean end) as rising,
        max(case when measure_kind.kind = 'diagonal' then reading_fits.second_mean end) as falling,
        max(reading_errors.u_random) as u,
        sum(reading_fits.n) as n,
        sum(reading_fits.undated) as undated
    from reading_fits
    join (
        select 'frame_width' as measure, 'width' as kind
        union all select 'frame_height', 'height'
        union all select 'frame_diagonal', 'diagonal'
        union all select 'aperture_width', 'width'
        union all select 'aperture_height', 'height'
        union all select 'aperture_diagonal', 'diagonal'
    ) as measure_kind on measure_kind.measure = reading_fits.measure
    join reading_errors
        on reading_errors.measure = reading_fits.measure
        and reading_errors.instrument = coalesce(reading_fits.instrument, '')
    group by reading_fits.install_id, case when reading_fits.measure like 'frame%' then 'frame' else 'aperture' end
),

complete as (
    select
        lengths.*,
        (left_jamb * left_jamb + sill * sill - falling * falling) / (2 * sill) as x_left,
        (sill * sill + rising * rising - right_jamb * right_jamb) / (2 * sill) as x_right
    from lengths
    where sill > 0 and width_span > 0 and height_span > 0 and rising > 0 and falling > 0
),

closed as (
    select
        complete.*,
        head - sqrt(
            power(x_right - x_left, 2)
            + power(
                sqrt(greatest(rising * rising - x_right * x_right, 0.0))
                - sqrt(greatest(left_jamb * left_jamb - x_left * x_left, 0.0)), 2
            )
        ) as misclosure,
        -- sensitivities near a rectangle: 1 for sill and head, h / w for each jamb, d / w for each diagonal
        u * sqrt(
            2 + (left_jamb * left_jamb + right_jamb * right_jamb + rising * rising + falling * falling) / (sill * sill)
        ) as u_misclosure,
        row_number() over (partition by install_id order by what desc) as turn  -- frame before aperture
    from complete
)

select
    install_id,
    'tape_misclosure' as deviation,
    misclosure as "value",
    cast(null as double) as unclipped,
    u_misclosure as uncertainty,
    cast(n as bigint) as readings,
    cast(undated as bigint) as undated
from closed
where turn = 1

-- tape_misclosures: how far six lengths fail to close, a test of the record and not of the door.
-- With the sill along x, the corners follow from sill, jambs and diagonals (rising from the lower left corner);
-- m = head - distance of the upper corners. The frame's six lengths are taken where there are six, else the opening's.
-- Sill and head, left and right are told apart by member, else by position along the other side; with fewer than six
-- lengths the value is empty. u(m) from the sensitivities near a rectangle w x h with diagonal d: 1 for sill and head,
-- h / w for each jamb, -d / w for each diagonal; the tape's common error does not cancel wholly.
-- grain: one row per install_id and deviation
-- key: none
-- kind: view
-- each door: by itself
-- columns:
--   install_id   text     door
--   deviation    text     which one
--   value        double   in the deviation's unit; empty where there are too few readings
--   unclipped    double   the same before it was cut at 0; empty where nothing is cut
--   uncertainty  double   standard uncertainty; empty for counts and shares
--   readings     integer  readings behind it
--   undated      integer  of these, undated
with
kinds as (
    select
        member_fits.*,
        case when measure in ('frame_width', 'frame_height', 'frame_diagonal') then 1 else 2 end as turn,
        measure in ('frame_width', 'aperture_width') as is_width,
        measure in ('frame_height', 'aperture_height') as is_height,
        measure in ('frame_diagonal', 'aperture_diagonal') as is_diagonal
    from member_fits
    where measure in (
        'frame_width', 'frame_height', 'frame_diagonal', 'aperture_width', 'aperture_height', 'aperture_diagonal'
    )
),

lengths as (
    select
        install_id,
        turn,
        max(case when is_width then coalesce(case when member = 'sill' then mean end, value_at_low) end) as sill,
        max(case when is_width then coalesce(case when member = 'head' then mean end, value_at_high) end) as head,
        max(case when is_height then coalesce(case when member = 'left_jamb' then mean end, value_at_low) end)
            as left_jamb,
        max(case when is_height then coalesce(case when member = 'right_jamb' then mean end, value_at_high) end)
            as right_jamb,
        max(case when is_diagonal then mean + difference / 2 end) as rising,
        max(case when is_diagonal then mean - difference / 2 end) as falling,
        max(case when is_width then u_random end) as u_width,
        max(case when is_height then u_random end) as u_height,
        max(case when is_diagonal then u_random end) as u_diagonal,
        max(u_common) as u_common,
        sum(n) as readings,
        sum(undated) as undated
    from kinds
    group by install_id, turn
    having count(case when is_width then 1 end) > 0
        and count(case when is_height then 1 end) > 0
        and count(case when is_diagonal then 1 end) > 0
),

placed as (
    select
        lengths.*,
        (left_jamb * left_jamb + sill * sill - falling * falling) / (2 * sill) as x_left,
        (sill * sill + rising * rising - right_jamb * right_jamb) / (2 * sill) as x_right,
        (left_jamb + right_jamb) / (sill + head) as height_ratio,
        (rising + falling) / (sill + head) as diagonal_ratio
    from lengths
),

-- Lengths that make no triangle at all have no corner: value empty.
cornered as (
    select
        placed.*,
        case when left_jamb >= abs(x_left) then sqrt(left_jamb * left_jamb - x_left * x_left) end as y_left,
        case when rising >= abs(x_right) then sqrt(rising * rising - x_right * x_right) end as y_right
    from placed
),

closed as (
    select
        cornered.*,
        head - sqrt(power(x_right - x_left, 2) + power(y_right - y_left, 2)) as misclosure,
        sqrt(
            2 * u_width * u_width
            + 2 * power(height_ratio * u_height, 2)
            + 2 * power(diagonal_ratio * u_diagonal, 2)
            + power((2 + 2 * height_ratio - 2 * diagonal_ratio) * u_common, 2)
        ) as uncertainty
    from cornered
),

ranked as (
    select
        closed.*,
        row_number() over (partition by install_id order by misclosure is null, turn) as rank
    from closed
)

select
    install_id,
    'tape_misclosure' as deviation,
    misclosure as "value",
    cast(null as double) as unclipped,
    uncertainty,
    readings,
    undated
from ranked
where rank = 1

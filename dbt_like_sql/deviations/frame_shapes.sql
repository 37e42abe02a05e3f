-- frame_shapes: racking of the frame over its height, from its diagonals: abs(d1^2 - d2^2) / (4 w).
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
diagonals as (
    select
        reading_fits.install_id,
        reading_fits.first_mean as rising,
        reading_fits.second_mean as falling,
        reading_fits.n,
        reading_fits.undated,
        member_fits.u_random
    from reading_fits
    join member_fits
        on member_fits.install_id = reading_fits.install_id
        and member_fits.measure = reading_fits.measure
        and member_fits.member = reading_fits.member
    where reading_fits.measure = 'frame_diagonal'
),

widths as (
    select install_id, sum(total) / sum(n) as width_mm
    from reading_fits
    where measure = 'frame_width'
    group by install_id
),

-- widths and staged_installs are unique on install_id
joined as (
    select
        diagonals.*,
        coalesce(widths.width_mm, staged_installs.width_mm) as width_mm
    from diagonals
    join staged_installs on staged_installs.install_id = diagonals.install_id
    left join widths on widths.install_id = diagonals.install_id
)

select
    install_id,
    'frame_racking' as deviation,
    max(abs(rising * rising - falling * falling) / (4 * width_mm)) as "value",
    cast(null as double) as unclipped,
    max(u_random * sqrt(rising * rising + falling * falling) / (2 * width_mm)) as uncertainty,
    cast(sum(n) as bigint) as readings,
    cast(sum(undated) as bigint) as undated
from joined
group by install_id

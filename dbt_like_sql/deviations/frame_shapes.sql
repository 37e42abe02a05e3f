-- frame_shapes: racking of the frame over its height, from its diagonals: abs(d1^2 - d2^2) / (4 w).
-- The width is the frame's own where it was read, else the door's. The error common to both diagonals cancels.
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
widths as (
    select install_id, sum(n * mean) / sum(n) as width_mm
    from member_fits
    where measure = 'frame_width'
    group by install_id
),

-- d1^2 - d2^2 = (d1 - d2)(d1 + d2); staged_installs and widths are unique on install_id: no row doubles
diagonals as (
    select
        member_fits.install_id,
        member_fits.difference,
        2 * member_fits.mean as total,
        member_fits.u_random,
        member_fits.n,
        member_fits.undated,
        coalesce(widths.width_mm, staged_installs.width_mm) as width_mm
    from member_fits
    join staged_installs on staged_installs.install_id = member_fits.install_id
    left join widths on widths.install_id = member_fits.install_id
    where member_fits.measure = 'frame_diagonal'
)

select
    install_id,
    'frame_racking' as deviation,
    max(abs(difference) * total / (4 * width_mm)) as "value",
    cast(null as double) as unclipped,
    -- sensitivity to each diagonal: d / (2 w)
    max(u_random * sqrt((total * total + difference * difference) / 2) / (2 * width_mm)) as uncertainty,
    sum(n) as readings,
    sum(undated) as undated
from diagonals
group by install_id

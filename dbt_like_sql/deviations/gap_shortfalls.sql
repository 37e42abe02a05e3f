-- gap_shortfalls: how far the tightest perimeter gap falls short of what the frame needs to move.
-- The gap needed is that of catalogue_gaps for the width of the opening, else of the door. A door outside the table
-- (wider than it, or material or colour not in it) is not judged: value empty, not zero. A gap wide enough counts 0,
-- but stays in unclipped.
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
tightest as (
    select
        install_id,
        min(case when measure = 'perimeter_gap' then low end) as gap_mm,
        min(case when measure = 'aperture_width' then low end) as opening_mm,
        max(case when measure = 'perimeter_gap' then sqrt(u_random * u_random + u_common * u_common) end)
            as uncertainty,
        sum(case when measure = 'perimeter_gap' then n end) as readings,
        sum(case when measure = 'perimeter_gap' then undated end) as undated
    from member_fits
    where measure in ('perimeter_gap', 'aperture_width')
    group by install_id
),

-- the bands of catalogue_gaps do not overlap, so a door meets one row at most
needed as (
    select
        tightest.install_id,
        tightest.uncertainty,
        tightest.readings,
        tightest.undated,
        catalogue_gaps.gap_mm - tightest.gap_mm as shortfall
    from tightest
    join staged_installs on staged_installs.install_id = tightest.install_id
    left join catalogue_gaps
        on catalogue_gaps.material = lower(trim(staged_installs.material))
        and (catalogue_gaps.colour is null or catalogue_gaps.colour = staged_installs.colour)
        and coalesce(tightest.opening_mm, staged_installs.width_mm) > catalogue_gaps.over_mm
        and coalesce(tightest.opening_mm, staged_installs.width_mm) <= catalogue_gaps.up_to_mm
    where tightest.gap_mm is not null
)

select
    install_id,
    'perimeter_gap_shortfall' as deviation,
    case when shortfall is not null then greatest(shortfall, 0.0) end as "value",
    shortfall as unclipped,
    uncertainty,
    readings,
    undated
from needed

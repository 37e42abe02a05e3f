-- gap_shortfalls: how far the tightest perimeter gap falls short of what the frame needs to move.
-- left out: doors outside the table of gaps (width, material or colour unknown or beyond it): value empty, not zero
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
tightest as (
    select
        reading_fits.install_id,
        min(reading_fits.low) as gap_mm,
        max(member_fits.u_reading) as uncertainty,
        sum(reading_fits.n) as n,
        sum(reading_fits.undated) as undated
    from reading_fits
    join member_fits
        on member_fits.install_id = reading_fits.install_id
        and member_fits.measure = reading_fits.measure
        and member_fits.member = reading_fits.member
    where reading_fits.measure = 'perimeter_gap'
    group by reading_fits.install_id
),

openings as (
    select install_id, min(low) as width_mm
    from reading_fits
    where measure = 'aperture_width'
    group by install_id
),

-- the bands of catalogue_gaps do not overlap, so a door meets one row at most
needed as (
    select
        tightest.install_id,
        tightest.gap_mm,
        tightest.uncertainty,
        tightest.n,
        tightest.undated,
        catalogue_gaps.gap_mm as needed_mm
    from tightest
    join staged_installs on staged_installs.install_id = tightest.install_id
    left join openings on openings.install_id = tightest.install_id
    left join catalogue_gaps
        on catalogue_gaps.material = lower(trim(staged_installs.material))
        and (catalogue_gaps.colour is null or catalogue_gaps.colour = staged_installs.colour)
        and coalesce(openings.width_mm, staged_installs.width_mm) > catalogue_gaps.over_mm
        and coalesce(openings.width_mm, staged_installs.width_mm) <= catalogue_gaps.up_to_mm
)

select
    install_id,
    'perimeter_gap_shortfall' as deviation,
    case when needed_mm is not null then greatest(needed_mm - gap_mm, 0.0) end as "value",
    needed_mm - gap_mm as unclipped,
    case when needed_mm is not null then uncertainty end as uncertainty,
    cast(n as bigint) as readings,
    cast(undated as bigint) as undated
from needed

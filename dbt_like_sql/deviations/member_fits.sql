-- member_fits: the fits of a door's members, every place read once, with the uncertainty of one reading.
-- grain: one row per install_id, measure and member
-- key: none
-- kind: view
-- each door: by itself
-- columns:
--   install_id     text      door
--   measure        text      what was measured
--   member         text      which frame member or leaf; '' where none is named
--   n              integer   readings behind the fit
--   undated        integer   of these, undated
--   low            double    smallest reading
--   high           double    largest reading
--   mean           double    mean of the readings
--   lean           double    least-squares slope on position times span, signed; empty under two positions
--   u_lean         double    standard uncertainty of lean
--   span           double    mm between first and last position
--   bow            double    largest residual from the least-squares line; empty under three positions
--   u_bow          double    standard uncertainty of bow
--   chord_bow      double    largest offset from the line through first and last position; empty under three
--   u_chord_bow    double    standard uncertainty of chord_bow
--   value_at_low   double    reading at the lowest position
--   value_at_high  double    reading at the highest position
--   gap            double    largest step between neighbours in order of size; empty under two readings
--   difference     double    hinge, top or rising less lock, bottom or falling; else larger less smaller of two
--   is_sided       boolean   difference has a sign: both sides were named
--   places         double[]  the readings themselves, of measures that are places along a member
--   u_random       double    standard uncertainty of one reading, the part that differs between readings
--   u_common       double    the part common to all readings of the instrument
--   u_tilt         double    standard uncertainty of the instrument's tilt, mm per m
with
fits as (
    select * from reading_fits where not is_questioned
    union all
    select * from repeated_fits
)

select
    fits.install_id,
    fits.measure,
    fits.member,
    fits.n,
    fits.undated,
    fits.low,
    fits.high,
    fits.mean,
    fits.lean,
    sqrt(
        power(reading_errors.u_random * fits.lean_factor, 2) + power(reading_errors.u_tilt * fits.span / 1000, 2)
    ) as u_lean,
    fits.span,
    fits.bow,
    reading_errors.u_random * fits.bow_factor as u_bow,
    fits.chord_bow,
    reading_errors.u_random * fits.chord_factor as u_chord_bow,
    fits.value_at_low,
    fits.value_at_high,
    fits.gap,
    fits.difference,
    fits.is_sided,
    fits.places,
    reading_errors.u_random,
    reading_errors.u_common,
    reading_errors.u_tilt
from fits
-- unique on measure and instrument, and made from these very fits: no fit doubles, none is lost
join reading_errors
    on reading_errors.measure = fits.measure
    and reading_errors.instrument = fits.instrument

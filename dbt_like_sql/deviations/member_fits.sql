-- member_fits: the fits of a door's members, each with the standard uncertainties of what is made of them.
-- grain: one row per install_id, measure and member
-- key: install_id, measure, member
-- columns:
--   install_id     text    part of the key
--   measure        text    part of the key
--   member         text    part of the key; '' where none is named
--   u_reading      double  standard uncertainty of one reading, common part included
--   u_random       double  the part that differs between readings
--   u_lean         double  standard uncertainty of lean
--   u_mean         double  standard uncertainty of the mean
select
    reading_fits.install_id,
    reading_fits.measure,
    reading_fits.member,
    sqrt(reading_errors.u_random * reading_errors.u_random + reading_errors.u_common * reading_errors.u_common)
        as u_reading,
    reading_errors.u_random,
    sqrt(
        power(reading_errors.u_random * reading_fits.lean_factor, 2)
        + power(reading_errors.u_tilt * reading_fits.span / 1000, 2)
    ) as u_lean,
    sqrt(
        power(reading_errors.u_random, 2) / reading_fits.n + power(reading_errors.u_common, 2)
    ) as u_mean
from reading_fits
join reading_errors
    on reading_errors.measure = reading_fits.measure
    and reading_errors.instrument = coalesce(reading_fits.instrument, '')

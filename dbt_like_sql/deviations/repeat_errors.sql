-- repeat_errors: how much readings of one place on one day differ, per measure and instrument.
-- Only repeats of one day count: between days a door may have been adjusted, which is change and not error.
-- grain: one row per measure and instrument with any member that may have been read twice
-- key: measure, instrument
-- columns:
--   measure     text     part of the key
--   instrument  text     part of the key; '' where none is named
--   squares     double   sum of squares about the mean of each place and day
--   freedom     integer  degrees of freedom
select
    measure,
    instrument,
    sum(repeat_squares) as squares,
    sum(repeat_freedom) as freedom
from settled_readings
group by measure, instrument

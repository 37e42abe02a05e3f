-- explore_faults: callbacks by fault, for the linked sheet.
-- A callback of several faults counts once in each of them, so the faults together are more than the callbacks.
-- grain: one row per crew, product, period and fault with a callback
-- key: crew, product, period, fault
-- columns:
--   crew       text     part of the key, as in explore_time
--   product    text     part of the key, as in explore_time
--   period     text     part of the key; of explore_periods
--   fault      text     part of the key; beyond the twelve most frequent `other faults`
--   callbacks  integer  callbacks that open an episode of the fault which a crew answers for, reported in the period
select
    explore_doors.crew,
    explore_doors.product,
    explore_periods.period,
    faults.label as fault,
    cast(count(distinct episodes.callback_id) as integer) as callbacks
from episodes
join explore_doors on explore_doors.install_id = episodes.install_id
-- unique on dimension and name: no row doubles
join explore_names as faults on faults.dimension = 'fault' and faults.name = episodes.fault
join explore_periods
    on episodes.reported_on >= explore_periods.starts_on and episodes.reported_on < explore_periods.ends_on
where episodes.kind = 'episode' and episodes.is_answered_for
group by explore_doors.crew, explore_doors.product, explore_periods.period, faults.label

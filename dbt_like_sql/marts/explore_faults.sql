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
    crews.label as crew,
    products.label as product,
    explore_periods.period,
    faults.label as fault,
    cast(count(distinct episodes.callback_id) as integer) as callbacks
from episodes
join staged_installs on staged_installs.install_id = episodes.install_id
-- unique on dimension and name: no row doubles
join explore_names as crews on crews.dimension = 'crew' and crews.name = episodes.crew
join explore_names as products
    on products.dimension = 'product' and products.name = coalesce(staged_installs.product, 'not recorded')
join explore_names as faults on faults.dimension = 'fault' and faults.name = episodes.fault
join explore_periods
    on episodes.reported_on >= explore_periods.starts_on and episodes.reported_on < explore_periods.ends_on
where episodes.kind = 'episode' and episodes.is_answered_for
group by crews.label, products.label, explore_periods.period, faults.label

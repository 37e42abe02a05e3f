-- explore_doors: every door with the names that its crew and product have on the linked sheet.
-- grain: one row per install_id
-- key: install_id
-- kind: view
-- columns:
--   install_id  text    key
--   crew        text    its name on the linked sheet, as in explore_time
--   product     text    its name on the linked sheet, as in explore_time
--   fitted_on   date    day it was fitted
--   from_on     date    first day at risk
--   until_on    date    last day at risk
--   door_years  double  years at risk, 0 where never
select
    staged_installs.install_id,
    crews.label as crew,
    products.label as product,
    staged_installs.fitted_on,
    door_time.from_on,
    door_time.until_on,
    door_time.door_years
from staged_installs
join door_time on door_time.install_id = staged_installs.install_id
-- unique on dimension and name: no row doubles
join explore_names as crews on crews.dimension = 'crew' and crews.name = staged_installs.crew
join explore_names as products
    on products.dimension = 'product' and products.name = coalesce(staged_installs.product, 'not recorded')

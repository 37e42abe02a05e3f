-- door_values: every deviation that a door has a value for, gathered in one row.
-- grain: one row per install_id
-- key: install_id
-- left out: doors without any value, and deviations whose value is empty (not recorded is not zero)
-- columns:
--   install_id  text      key
--   ordinals    double[]  place of each deviation in catalogue_deviations
--   amounts     double[]  the values, in the order of ordinals
select
    deviations.install_id,
    -- both lists grow from the same rows of one aggregate, so they keep the same order
    list(cast(catalogue_deviations.ordinal as double)) as ordinals,
    list(deviations.value) as amounts
from deviations
inner join catalogue_deviations on catalogue_deviations.name = deviations.deviation  -- unique on name: no row doubles
where deviations.value is not null
group by deviations.install_id

-- door_values: every deviation that a door has a value for, gathered in one row.
-- grain: one row per install_id
-- key: install_id
-- left out: doors without any value, and deviations whose value is empty (not recorded is not zero)
-- each door: by itself
-- columns:
--   install_id  text      key
--   ordinals    double[]  place of each deviation in catalogue_deviations
--   amounts     double[]  the values, in the order of ordinals
with
-- in order, so that the same values make the same row every time
gathered as (
    select
        deviations.install_id,
        list_sort(list(struct_pack(
            ordinal := cast(catalogue_deviations.ordinal as double), amount := deviations.value
        ))) as cells
    from deviations
    inner join catalogue_deviations on catalogue_deviations.name = deviations.deviation  -- unique on name
    where deviations.value is not null
    group by deviations.install_id
)

select
    install_id,
    list_transform(cells, lambda cell: cell.ordinal) as ordinals,
    list_transform(cells, lambda cell: cell.amount) as amounts
from gathered

-- callback_errors: how far the deviations of doors with a callback can be trusted, gathered in one row a door.
-- grain: one row per install_id
-- key: install_id
-- left out: doors that no callback is about, and deviations without an uncertainty (checks, counts, shares)
-- columns:
--   install_id  text      key
--   ordinals    double[]  place of each deviation in catalogue_deviations
--   amounts     double[]  standard uncertainties, in the order of ordinals
with
called as (select distinct install_id from episodes),

-- in order, so that the same values make the same row every time
gathered as (
    select
        deviations.install_id,
        list_sort(list(struct_pack(
            ordinal := cast(catalogue_deviations.ordinal as double), amount := deviations.uncertainty
        ))) as cells
    from deviations
    inner join called on called.install_id = deviations.install_id  -- unique on install_id
    inner join catalogue_deviations on catalogue_deviations.name = deviations.deviation  -- unique on name
    where deviations.uncertainty > 0 and deviations.value is not null
    group by deviations.install_id
)

select
    install_id,
    list_transform(cells, lambda cell: cell.ordinal) as ordinals,
    list_transform(cells, lambda cell: cell.amount) as amounts
from gathered

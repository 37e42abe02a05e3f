-- explore_names: under which name each crew, product and fault stands on the linked sheet.
-- A page holds 60 crews, 20 products and 12 faults; where there are more, the least watched crews and products and the
-- rarest faults stand together as others, so that a page stays small whatever the firm's size.
-- grain: one row per dimension and name
-- key: dimension, name
-- columns:
--   dimension  text    crew, product or fault
--   name       text    as recorded; a door without a product stands under `not recorded`
--   label      text    the name, or `other crews`, `other products`, `other faults`
--   size       double  door-years of a crew or product; callbacks of a fault that open an episode crews answer for
with
weights as (
    select 'crew' as dimension, crew as name, sum(door_years) as size
    from door_time
    group by crew
    union all
    select
        'product' as dimension,
        coalesce(staged_installs.product, 'not recorded') as name,
        sum(door_time.door_years) as size
    from staged_installs
    join door_time on door_time.install_id = staged_installs.install_id
    group by coalesce(staged_installs.product, 'not recorded')
    union all
    select 'fault' as dimension, fault as name, cast(count(distinct callback_id) as double) as size
    from episodes
    where kind = 'episode' and is_answered_for
    group by fault
),

ranked as (
    select
        dimension,
        name,
        size,
        -- rounded, since sums of doubles differ in their last digits from run to run
        row_number() over (partition by dimension order by round(size, 6) desc, name) as place,
        count(*) over (partition by dimension) as names,
        case dimension when 'crew' then 60 when 'product' then 20 else 12 end as most
    from weights
)

select
    dimension,
    name,
    -- the place of the last name is taken by the others
    case when names > most and place >= most then concat('other ', dimension, 's') else name end as label,
    size
from ranked

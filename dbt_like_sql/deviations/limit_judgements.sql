-- limit_judgements: each door's deviations held against every limit, as the instrument allows.
-- JCGM 106: p = 1 - (Phi((high - y) / u) - Phi((low - y) / u)); out where p is 95 % or more, within where it is 5 % or
-- less, undecided between. Without an uncertainty the value itself decides, and a value at the limit is within.
-- Phi by Abramowitz and Stegun 7.1.26, error below 7.5e-8. A value cut at 0 is judged by what it was before the cut.
-- grain: one row per install_id, limit and status that applies to the door
-- key: none
-- kind: view
-- each door: by itself
-- columns:
--   install_id       text    door
--   limit            text    limit
--   deviation        text    what is limited
--   value            double  the door's deviation; empty: not recorded
--   limit_value      double  the limit that governs, in the deviation's unit; empty where the door's size is not known
--   lower_limit      double  the least that the limit allows; empty: no such side
--   upper_limit      double  the most that it allows; empty: no such side, or the door's size is not known
--   decision         text    within, out, undecided or not recorded
--   probability_out  double  probability of being beyond the limit
--   status           text    in use, or for comparison
with
-- Rows of one limit by rank: the firm's own, then the most specific, then the latest.
-- catalogue_deviations is unique on name: no limit doubles.
limits as (
    select
        catalogue_limits.name,
        catalogue_limits.deviation,
        catalogue_limits.status,
        catalogue_limits.is_own,
        catalogue_limits.low,
        catalogue_limits.high as fixed_high,
        catalogue_limits.high_per_m,
        catalogue_limits.along,
        catalogue_limits.starts_on,
        lower(trim(catalogue_limits.product)) as for_product,
        lower(trim(catalogue_limits.material)) as for_material,
        cast(limited.ordinal as double) as ordinal,
        cast(waiving.ordinal as double) as waiving_ordinal,
        row_number() over (
            partition by catalogue_limits.name, catalogue_limits.status
            order by
                catalogue_limits.is_own desc,
                case when catalogue_limits.product is null then 0 else 1 end
                    + case when catalogue_limits.material is null then 0 else 1 end desc,
                coalesce(catalogue_limits.starts_on, date '1900-01-01') desc,
                catalogue_limits.deviation, catalogue_limits.product, catalogue_limits.material
        ) as rank,
        count(*) over (partition by catalogue_limits.name, catalogue_limits.status) as n_rows
    from catalogue_limits
    join catalogue_deviations as limited on limited.name = catalogue_limits.deviation
    left join catalogue_deviations as waiving on waiving.name = catalogue_limits.unless_recorded
),

-- door_values is unique on install_id: no door doubles.
doors as (
    select
        staged_installs.install_id,
        staged_installs.fitted_on,
        staged_installs.width_mm,
        staged_installs.height_mm,
        lower(trim(staged_installs.product)) as product,
        lower(trim(staged_installs.material)) as material,
        door_values.ordinals
    from staged_installs
    left join door_values on door_values.install_id = staged_installs.install_id
),

-- Only limits of several rows, and a firm's own, have to be settled door by door.
unsettled as (
    select doors.install_id, limits.name, limits.deviation, limits.status, limits.is_own, limits.n_rows, limits.rank
    from doors
    join limits
        on (limits.n_rows > 1 or limits.is_own)
        and (limits.starts_on is null or limits.starts_on <= doors.fitted_on)
        and (limits.for_product is null or limits.for_product = doors.product)
        and (limits.for_material is null or limits.for_material = doors.material)
),

first_rows as (
    select install_id, name, status, min(rank) as rank
    from unsettled
    where n_rows > 1
    group by install_id, name, status
),

own_limits as (
    select distinct install_id, deviation
    from unsettled
    where is_own and status = 'in use'
),

-- What a door has a value for and what it has none for come apart, so that nothing large is looked up in a large table.
-- Unique are doors on install_id, deviations on install_id and deviation: one row per door and row of a limit.
held as (
    select
        doors.*,
        limits.*,
        deviations."value",
        coalesce(deviations.unclipped, deviations."value") as measured,
        nullif(deviations.uncertainty, 0.0) as u
    from deviations
    join limits on limits.deviation = deviations.deviation
    join doors on doors.install_id = deviations.install_id
    where deviations."value" is not null

    union all

    select
        doors.*,
        limits.*,
        cast(null as double) as "value",
        cast(null as double) as measured,
        cast(null as double) as u
    from doors
    join limits on not coalesce(list_contains(doors.ordinals, limits.ordinal), false)
),

-- first_rows and own_limits are unique on what they are joined on: no row doubles.
-- A firm's own limit on a deviation goes before the built-in ones. waiving: a limit that holds only where another
-- deviation has no value.
governing as (
    select
        held.install_id,
        held.name,
        held.deviation,
        held.status,
        held.low,
        -- the tighter of the two; least() passes over an empty one
        least(
            held.fixed_high,
            held.high_per_m * case held.along when 'width' then held.width_mm else held.height_mm end / 1000
        ) as high,
        held."value",
        held.measured,
        held.u
    from held
    left join first_rows
        on first_rows.install_id = held.install_id
        and first_rows.name = held.name
        and first_rows.status = held.status
    left join own_limits
        on own_limits.install_id = held.install_id and own_limits.deviation = held.deviation
    where (held.starts_on is null or held.starts_on <= held.fitted_on)
        and (held.for_product is null or held.for_product = held.product)
        and (held.for_material is null or held.for_material = held.material)
        and coalesce(first_rows.rank, held.rank) = held.rank
        and (held.is_own or held.status <> 'in use' or own_limits.install_id is null)
        and not coalesce(list_contains(held.ordinals, held.waiving_ordinal), false)
),

-- z: how many standard uncertainties the limit lies beyond the value
scored as (
    select
        governing.*,
        (high - measured) / u as z_high,
        (measured - low) / u as z_low
    from governing
),

tails as (
    select
        scored.*,
        1 / (1 + 0.3275911 * abs(z_high) / sqrt(2)) as t_high,
        1 / (1 + 0.3275911 * abs(z_low) / sqrt(2)) as t_low
    from scored
),

beyond as (
    select
        tails.*,
        0.5 * exp(-z_high * z_high / 2) * t_high * (0.254829592 + t_high * (-0.284496736 + t_high * (1.421413741
            + t_high * (-1.453152027 + t_high * 1.061405429)))) as tail_high,
        0.5 * exp(-z_low * z_low / 2) * t_low * (0.254829592 + t_low * (-0.284496736 + t_low * (1.421413741
            + t_low * (-1.453152027 + t_low * 1.061405429)))) as tail_low
    from tails
),

judged as (
    select
        beyond.*,
        case
            when "value" is null or (high is null and low is null) then null
            when u is null then
                case when measured > high + 1e-9 or measured < low - 1e-9 then 1.0 else 0.0 end
            else
                least(
                    coalesce(case when z_high >= 0 then tail_high else 1 - tail_high end, 0.0)
                    + coalesce(case when z_low >= 0 then tail_low else 1 - tail_low end, 0.0),
                    1.0
                )
        end as probability_out
    from beyond
)

select
    install_id,
    name as "limit",
    deviation,
    "value",
    case
        when low is null then high
        when high is null then low
        when abs(measured - low) < abs(high - measured) then low
        else high
    end as limit_value,
    low as lower_limit,
    high as upper_limit,
    case
        when probability_out is null then 'not recorded'
        when probability_out >= 0.95 then 'out'
        when probability_out <= 0.05 then 'within'
        else 'undecided'
    end as decision,
    probability_out,
    status
from judged

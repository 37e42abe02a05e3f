-- limit_judgements: each door's deviations held against every limit, as the instrument allows.
-- JCGM 106: p = 1 - (Phi((high - y) / u) - Phi((low - y) / u)); out where p is 95 % or more, within where it is 5 % or
-- less, undecided between. Without an uncertainty the value itself decides, and a value at the limit is within.
-- Phi by Abramowitz and Stegun 7.1.26, error below 7.5e-8. A value cut at 0 is judged by what it was before the cut.
-- grain: one row per install_id, limit and status that applies to the door
-- key: none
-- kind: view
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
limits as (
    select
        row_number() over (order by name, status, is_own, product, material, starts_on, deviation) as number,
        name,
        deviation,
        status,
        is_own,
        unless_recorded,
        low,
        high,
        high_per_m,
        along,
        starts_on,
        lower(trim(product)) as product,
        lower(trim(material)) as material,
        row_number() over (
            partition by name, status
            order by
                is_own desc,
                case when product is null then 0 else 1 end + case when material is null then 0 else 1 end desc,
                coalesce(starts_on, date '1900-01-01') desc,
                deviation
        ) as rank,
        count(*) over (partition by name, status) as n_rows
    from catalogue_limits
),

doors as (
    select
        install_id,
        fitted_on,
        width_mm,
        height_mm,
        lower(trim(product)) as product,
        lower(trim(material)) as material
    from staged_installs
),

-- One row per door and limit row that may hold for it: narrow, for there are many.
applying as (
    select
        doors.install_id,
        limits.number,
        -- the tighter of the two; least() passes over an empty one
        least(
            limits.high,
            limits.high_per_m * case limits.along when 'width' then doors.width_mm else doors.height_mm end / 1000
        ) as high
    from doors
    join limits
        on (limits.starts_on is null or limits.starts_on <= doors.fitted_on)
        and (limits.product is null or limits.product = doors.product)
        and (limits.material is null or limits.material = doors.material)
),

-- Only limits of several rows need to be settled door by door.
first_rows as (
    select applying.install_id, limits.name, limits.status, min(limits.rank) as rank
    from applying
    join limits on limits.number = applying.number
    where limits.n_rows > 1
    group by applying.install_id, limits.name, limits.status
),

own_limits as (
    select distinct applying.install_id, limits.deviation
    from applying
    join limits on limits.number = applying.number
    where limits.is_own and limits.status = 'in use'
),

-- Limits that hold only where another deviation has no value, and it has one. Unique: deviations are, on both columns.
waived as (
    select applying.install_id, applying.number
    from applying
    join limits on limits.number = applying.number
    join deviations
        on deviations.install_id = applying.install_id
        and deviations.deviation = limits.unless_recorded
    where deviations."value" is not null
),

-- limits, first_rows, own_limits, waived and deviations are unique on what they are joined on: no row doubles.
-- A firm's own limit on a deviation goes before the built-in ones.
governing as (
    select
        applying.install_id,
        limits.name,
        limits.deviation,
        limits.status,
        limits.low,
        applying.high,
        deviations."value",
        coalesce(deviations.unclipped, deviations."value") as measured,
        nullif(deviations.uncertainty, 0.0) as u
    from applying
    join limits on limits.number = applying.number
    left join first_rows
        on first_rows.install_id = applying.install_id
        and first_rows.name = limits.name
        and first_rows.status = limits.status
    left join own_limits
        on own_limits.install_id = applying.install_id and own_limits.deviation = limits.deviation
    left join waived on waived.install_id = applying.install_id and waived.number = applying.number
    left join deviations
        on deviations.install_id = applying.install_id and deviations.deviation = limits.deviation
    where coalesce(first_rows.rank, limits.rank) = limits.rank
        and (limits.is_own or limits.status <> 'in use' or own_limits.install_id is null)
        and waived.install_id is null
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

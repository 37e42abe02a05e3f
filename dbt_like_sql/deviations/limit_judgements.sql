-- limit_judgements: each door's deviations held against every limit, as the instrument allows.
-- JCGM 106: out where the probability of being beyond the limit is 95 % or more, within where it is 5 % or less,
-- undecided between. Without an uncertainty the value itself decides, and a value at the limit is within.
-- The normal distribution function is that of Abramowitz and Stegun 7.1.26 (error below 1.5e-7).
-- grain: one row per install_id and limit that applies to the door, those for comparison only included
-- key: none
-- kind: view
-- columns:
--   install_id       text    door
--   limit            text    limit
--   deviation        text    what is limited
--   value            double  the door's deviation; empty: not recorded
--   limit_value      double  the limit that governs, in the deviation's unit
--   decision         text    within, out, undecided or not recorded
--   probability_out  double  probability of being beyond the limit
--   status           text    in use, or for comparison
with
sizes as (
    select install_id, 'width' as along, width_mm as length_mm from staged_installs
    union all
    select install_id, 'height' as along, height_mm as length_mm from staged_installs
    union all
    select install_id, 'none' as along, cast(null as double) as length_mm from staged_installs
),

-- The most specific row of a limit's name governs, then the latest.
candidates as (
    select
        staged_installs.install_id,
        catalogue_limits.name,
        catalogue_limits.deviation,
        catalogue_limits.low,
        catalogue_limits.unless_recorded,
        catalogue_limits.is_own,
        catalogue_limits.status,
        -- least() passes over an empty value: without a length only the fixed limit is left, which may be none
        case
            when sizes.length_mm is null or catalogue_limits.high_per_m is null then catalogue_limits.high
            else least(
                coalesce(catalogue_limits.high, 1e300), catalogue_limits.high_per_m * sizes.length_mm / 1000
            )
        end as high,
        row_number() over (
            partition by staged_installs.install_id, catalogue_limits.name
            order by
                catalogue_limits.is_own desc,
                case when catalogue_limits.product is null then 0 else 1 end
                + case when catalogue_limits.material is null then 0 else 1 end desc,
                coalesce(catalogue_limits.starts_on, date '1900-01-01') desc
        ) as turn
    from staged_installs
    join catalogue_limits
        on coalesce(catalogue_limits.starts_on, staged_installs.fitted_on) <= staged_installs.fitted_on
        and (
            catalogue_limits.product is null
            or lower(trim(catalogue_limits.product)) = lower(trim(staged_installs.product))
        )
        and (
            catalogue_limits.material is null
            or lower(trim(catalogue_limits.material)) = lower(trim(staged_installs.material))
        )
    -- sizes is unique on door and direction: no row doubles
    join sizes
        on sizes.install_id = staged_installs.install_id
        and sizes.along = coalesce(catalogue_limits.along, 'none')
),

own as (
    select distinct install_id, deviation from candidates where is_own and status = 'in use'
),

-- A firm's own limit on a deviation goes before the built-in ones. own is unique, deviations too.
governing as (
    select
        candidates.install_id,
        candidates.name,
        candidates.deviation,
        candidates.low,
        candidates.status,
        candidates.high,
        deviations."value",
        coalesce(deviations.unclipped, deviations."value") as measured,
        nullif(deviations.uncertainty, 0.0) as u
    from candidates
    left join own on own.install_id = candidates.install_id and own.deviation = candidates.deviation
    left join deviations
        on deviations.install_id = candidates.install_id and deviations.deviation = candidates.deviation
    left join deviations as instead
        on instead.install_id = candidates.install_id
        and instead.deviation = candidates.unless_recorded
        and instead."value" is not null
    where candidates.turn = 1
        and (candidates.is_own or candidates.status <> 'in use' or own.install_id is null)
        and instead.install_id is null
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
                coalesce(case when z_high >= 0 then tail_high else 1 - tail_high end, 0.0)
                + coalesce(case when z_low >= 0 then tail_low else 1 - tail_low end, 0.0)
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
    case
        when probability_out is null then 'not recorded'
        when probability_out >= 0.95 then 'out'
        when probability_out <= 0.05 then 'within'
        else 'undecided'
    end as decision,
    -- least() passes over an empty value, so it is kept away from one
    case when probability_out is not null then least(probability_out, 1.0) end as probability_out,
    status
from judged

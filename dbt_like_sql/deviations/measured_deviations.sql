-- measured_deviations: the deviations that one measure gives, built in and a firm's own, by the catalogue's one path.
-- grain: one row per install_id and deviation whose measure has any reading that counts
-- key: install_id, deviation
-- columns:
--   install_id   text     part of the key
--   deviation    text     part of the key
--   value        double   in the deviation's unit; empty where there are too few readings
--   uncertainty  double   standard uncertainty; empty for counts
--   readings     integer  readings behind it
--   undated      integer  of these, undated
with
per_member as (
    select
        reading_fits.install_id,
        catalogue_deviations.name as deviation,
        catalogue_deviations.how,
        catalogue_deviations.worse,
        reading_fits.n,
        reading_fits.undated,
        reading_fits.low,
        reading_fits.high,
        reading_fits.total,
        member_fits.u_random,
        member_fits.u_reading,
        case catalogue_deviations.how
            when 'level' then abs(reading_fits.lean)
            when 'bow' then reading_fits.bow
            when 'step' then reading_fits.gap
            when 'difference' then abs(reading_fits.difference)
        end as amount,
        case catalogue_deviations.how
            when 'level' then member_fits.u_lean
            when 'bow' then member_fits.u_random * reading_fits.bow_factor
            else member_fits.u_random * sqrt(2)
        end as u_amount
    from reading_fits
    -- several deviations may share a measure: one row each, as the grain says
    join catalogue_deviations on catalogue_deviations.measure = reading_fits.measure
    join member_fits
        on member_fits.install_id = reading_fits.install_id
        and member_fits.measure = reading_fits.measure
        and member_fits.member = reading_fits.member
),

per_door as (
    select
        install_id,
        deviation,
        how,
        sum(n) as readings,
        sum(undated) as undated,
        min(low) as low,
        max(high) as high,
        sum(total) as total,
        case when worse = 'lower' then min(amount) else max(amount) end as amount,
        case when worse = 'lower' then arg_min(u_amount, amount) else arg_max(u_amount, amount) end as u_amount,
        max(u_random) as u_random,
        max(u_reading) as u_reading
    from per_member
    group by install_id, deviation, how, worse
)

select
    install_id,
    deviation,
    case how
        when 'spread' then case when readings > 1 then high - low end
        when 'max' then high
        when 'min' then low
        when 'mean' then total / readings
        when 'value' then total / readings
        else amount
    end as "value",
    case how
        when 'spread' then case when readings > 1 then u_random * sqrt(2) end
        when 'max' then u_reading
        when 'min' then u_reading
        when 'mean' then sqrt(u_reading * u_reading - u_random * u_random * (1 - 1.0 / readings))
        when 'value' then sqrt(u_reading * u_reading - u_random * u_random * (1 - 1.0 / readings))
        else u_amount
    end as uncertainty,
    cast(readings as bigint) as readings,
    cast(undated as bigint) as undated
from per_door

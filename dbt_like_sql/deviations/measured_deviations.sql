-- measured_deviations: the deviations that one measure gives, built in and a firm's own, by the catalogue's one path.
-- level, bow, step and difference are taken per member, and the worst member counts; spread, min, max and mean run over
-- all readings of the measure. An error common to all readings cancels in differences, not in a mean or an extreme.
-- grain: one row per install_id and deviation whose measure has any reading that counts
-- key: none
-- kind: view
-- each door: by itself
-- columns:
--   install_id   text     door
--   deviation    text     which one
--   value        double   in the deviation's unit; empty where there are too few readings
--   unclipped    double   empty: nothing is cut
--   uncertainty  double   standard uncertainty; empty for counts
--   readings     integer  readings behind it
--   undated      integer  of these, undated
with
per_member as (
    select
        member_fits.install_id,
        catalogue_deviations.ordinal,
        member_fits.n,
        member_fits.undated,
        member_fits.low,
        member_fits.high,
        member_fits.mean,
        member_fits.u_random,
        member_fits.u_common,
        member_fits.u_tilt * member_fits.span / 1000 as u_tilted,
        -- signed so that the worst member is the largest
        case when catalogue_deviations.worse = 'lower' then -1 else 1 end * case catalogue_deviations.how
            when 'level' then abs(member_fits.lean)
            when 'bow' then member_fits.bow
            when 'step' then member_fits.gap
            when 'difference' then abs(member_fits.difference)
        end as badness,
        case catalogue_deviations.how
            when 'level' then member_fits.u_lean
            when 'bow' then member_fits.u_bow
            else member_fits.u_random * sqrt(2)
        end as u_amount
    from member_fits
    -- several deviations may share a measure: one row each, as the grain says
    join catalogue_deviations on catalogue_deviations.measure = member_fits.measure
),

per_door as (
    select
        install_id,
        ordinal,
        sum(n) as readings,
        sum(undated) as undated,
        min(low) as low,
        max(high) as high,
        sum(n * mean) / sum(n) as mean,
        max(badness) as badness,
        -- of members as bad as each other the less certain; further digits hang on the order of summing
        arg_max(u_amount, struct_pack(size := round(badness, 9), u := u_amount)) filter (where badness is not null)
            as u_amount,
        max(u_random) as u_random,
        max(u_common) as u_common,
        max(coalesce(u_tilted, 0.0)) as u_tilted
    from per_member
    group by install_id, ordinal
)

-- unique on ordinal: no row doubles
select
    per_door.install_id,
    catalogue_deviations.name as deviation,
    case catalogue_deviations.how
        when 'spread' then case when per_door.readings > 1 then per_door.high - per_door.low end
        when 'max' then per_door.high
        when 'min' then per_door.low
        when 'mean' then per_door.mean
        when 'value' then per_door.mean
        else abs(per_door.badness)
    end as "value",
    cast(null as double) as unclipped,
    case catalogue_deviations.how
        when 'spread' then case when per_door.readings > 1
            then sqrt(2 * per_door.u_random * per_door.u_random + per_door.u_tilted * per_door.u_tilted) end
        when 'max' then sqrt(per_door.u_random * per_door.u_random + per_door.u_common * per_door.u_common)
        when 'min' then sqrt(per_door.u_random * per_door.u_random + per_door.u_common * per_door.u_common)
        when 'mean' then sqrt(
            per_door.u_random * per_door.u_random / per_door.readings + per_door.u_common * per_door.u_common
        )
        when 'value' then sqrt(
            per_door.u_random * per_door.u_random / per_door.readings + per_door.u_common * per_door.u_common
        )
        else case when per_door.badness is not null then per_door.u_amount end
    end as uncertainty,
    per_door.readings,
    per_door.undated
from per_door
join catalogue_deviations on catalogue_deviations.ordinal = per_door.ordinal

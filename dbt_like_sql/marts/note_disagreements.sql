-- note_disagreements: callbacks whose note is sure of other faults than were keyed. The keyed ones are used.
-- grain: one row per callback_id and noted fault
-- left out: callbacks without a keyed code or keyed unclear, and those whose note also says a keyed fault: a code
--   often stands for the foremost of several
-- key: callback_id, noted
-- columns:
--   callback_id  text    callback
--   keyed        text    fault codes keyed, split by ;
--   noted        text    fault the note is about
--   confidence   double  0 to 1: the chance that it is
with
keyed as (
    select callback_id, string_agg(fault, ';' order by fault) as codes
    from coded_callbacks
    where how = 'keyed'
    group by callback_id
    having max(case when fault = 'unclear' then 1 else 0 end) = 0
),

agreed as (
    select distinct coded_callbacks.callback_id
    from coded_callbacks
    join note_codes
        on note_codes.callback_id = coded_callbacks.callback_id and note_codes.fault = coded_callbacks.fault
    where coded_callbacks.how = 'keyed'
)

-- keyed and agreed are unique on callback_id, so each noted fault stands once
select
    keyed.callback_id,
    keyed.codes as keyed,
    note_codes.fault as noted,
    note_codes.confidence
from keyed
join note_codes on note_codes.callback_id = keyed.callback_id
left join agreed on agreed.callback_id = keyed.callback_id
where agreed.callback_id is null

-- coded_callbacks: which faults each callback was about. Keyed codes go before what its note says.
-- grain: one row per callback_id and fault
-- key: callback_id, fault
-- columns:
--   callback_id  text    callback
--   fault        text    fault code; unclear where none was keyed and the note is not sure enough
--   how          text    keyed, or note where it has to be read from the note
--   confidence   double  0 to 1: 1 where keyed, the chance where read from the note, 0 where unclear
with
codes as (
    select
        staged_callbacks.callback_id,
        unnest(string_split(coalesce(staged_callbacks.fault, ''), ';')) as code
    from staged_callbacks
),

-- The same code keyed twice in one cell is one fault.
keyed as (
    select distinct callback_id, trim(code) as fault
    from codes
    where trim(code) <> ''
),

-- A callback has one current note, so a fault stands once for it.
noted as (
    select note_codes.callback_id, note_codes.fault, note_codes.confidence
    from note_codes
    join staged_callbacks on staged_callbacks.callback_id = note_codes.callback_id
    left join keyed on keyed.callback_id = note_codes.callback_id
    where keyed.callback_id is null
)

select callback_id, fault, 'keyed' as how, 1.0 as confidence
from keyed

union all

select callback_id, fault, 'note' as how, confidence
from noted

union all

select staged_callbacks.callback_id, 'unclear' as fault, 'note' as how, 0.0 as confidence
from staged_callbacks
left join keyed on keyed.callback_id = staged_callbacks.callback_id
left join (select distinct callback_id from noted) as said on said.callback_id = staged_callbacks.callback_id
where keyed.callback_id is null and said.callback_id is null

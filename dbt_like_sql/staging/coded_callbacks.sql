-- coded_callbacks: which faults each callback was about.
-- grain: one row per callback_id and fault
-- key: callback_id, fault
-- columns:
--   callback_id  text    callback
--   fault        text    fault code; unclear where none was keyed
--   how          text    keyed, or note where it has to be read from the note
--   confidence   double  1 where keyed, 0 where nothing was
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
)

select callback_id, fault, 'keyed' as how, 1.0 as confidence
from keyed

union all

select staged_callbacks.callback_id, 'unclear' as fault, 'note' as how, 0.0 as confidence
from staged_callbacks
left join keyed on keyed.callback_id = staged_callbacks.callback_id
where keyed.callback_id is null

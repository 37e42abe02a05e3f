-- corrections: every cell that a person corrected in the workbook of what was set aside, and whether it counts.
-- grain: one row per cell and correction
-- key: correction
-- columns:
--   correction     integer    1, 2, ... in the order in which they were taken
--   corrected_at   timestamp  when the workbook was read
--   who            text       who corrected it: named in the workbook, else the login name of the run
--   record         text       installs, readings, checks, callbacks, crews, training or instruments
--   file           text       file name
--   sheet          text       sheet of a workbook
--   row            integer    row of the sheet as a spreadsheet counts; the header is row 1
--   heading        text       the firm's own heading of the value, in a sheet with a column for every reading
--   column         text       column of the cell
--   before         text       what stood there
--   after          text       what the person wrote; empty: that nothing stands there
--   state          text       in force, superseded, or waiting (its file is not in the folder)
--   superseded_at  timestamp  when it stopped to count
--   superseded_by  text       what counts instead
select
    correction_ledger.correction,
    correction_ledger.corrected_at,
    correction_ledger.who,
    correction_ledger.record,
    correction_ledger.file,
    correction_ledger.sheet,
    correction_ledger."row",
    correction_ledger.heading,
    correction_ledger."column",
    correction_ledger."before",
    correction_ledger."after",
    case
        when correction_ledger.superseded_at is not null then 'superseded'
        when correction_ledger.is_laid then 'in force'
        else 'waiting'
    end as state,
    correction_ledger.superseded_at,
    correction_ledger.superseded_by
from correction_ledger

-- set_aside: every row, cell or file that was not taken in, where it stands and why.
-- grain: one row per row, cell or file not taken in
-- key: ordinal
-- columns:
--   file    text     file name
--   sheet   text     sheet of a workbook
--   row     integer  row of the sheet as a spreadsheet counts; the header is row 1
--   column  text     column of the cell
--   value   text     what stands there
--   reason  text     one sentence: what is wrong and what to do
--   record  text     installs, readings, checks, callbacks, crews, training or instruments
--   scope   text     row, cell or file
--   ordinal integer  1, 2, ... in the order of file, sheet, row and column
select
    rejections.file,
    rejections.sheet,
    rejections."row",
    rejections."column",
    rejections."value",
    rejections.reason,
    rejections.record,
    rejections.scope,
    row_number() over (
        order by
            rejections.file, rejections.sheet, rejections."row", rejections."column",
            rejections."value", rejections.reason, rejections.record, rejections.scope
    ) as ordinal
from rejections

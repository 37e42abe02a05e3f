-- unread_columns: columns of the firm's files that nothing is read from, so that what stands in them is in no number.
-- grain: one row per file, sheet and heading
-- key: ordinal
-- columns:
--   ordinal  integer  1, 2, ... in the order of file, sheet and heading
--   file     text     file name
--   sheet    text     sheet of a workbook
--   heading  text     the column's heading as written
--   cells    integer  how many cells under it are filled; empty where they were not counted
--   state    text     new (not there when the sheet was matched), no place, no such column, or left out (by the firm)
--   reason   text     what to do about it
select
    row_number() over (order by unread_headings.file, unread_headings.sheet, unread_headings.heading) as ordinal,
    unread_headings.file,
    unread_headings.sheet,
    unread_headings.heading,
    unread_headings.cells,
    unread_headings.state,
    unread_headings.reason
from unread_headings

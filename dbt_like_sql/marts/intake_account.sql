-- intake_account: for every file, rows read = rows taken in + rows set aside + exact repeats.
-- grain: one row per file and record made of it
-- key: file, part
-- columns:
--   part            integer  1 for the first record of a file; a firm's own sheet may make several
--   record          text     installs, readings, checks, callbacks, crews, training or instruments
--   file            text     file name
--   status          text     taken in, unchanged, vanished, refused or not read
--   reason          text     why, where it was refused or not read
--   rows_read       integer  canonical rows read
--   rows_taken_in   integer  rows that now count
--   rows_set_aside  integer  rows that wait to be mended
--   rows_repeated   integer  exact repeats of another row
select
    row_number() over (partition by files.file order by files.record) as part,
    files.record,
    files.file,
    files.status,
    files.reason,
    files.rows_read,
    files.rows_taken_in,
    files.rows_set_aside,
    files.rows_repeated
from files

"""Pure functions on arrays: no tables, no files, nothing about doors."""

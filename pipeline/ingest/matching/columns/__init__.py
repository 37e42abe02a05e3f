"""Which column of a table is which column of a record."""

"""A sheet as cells, and the rows that a mapping makes of it."""

"""From a folder of files to records.duckdb and people.duckdb: read, judged, accounted for, kept with their history."""

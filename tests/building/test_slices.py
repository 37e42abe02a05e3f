"""A table whose header names slices is made a slice at a time, and comes out the same as made whole."""

import duckdb
import pytest

from pipeline.building.table_making import make_table
from tests.building.conftest import graph_of

AREAS = """-- areas: each door with its area.
-- grain: one row per install_id
-- key: install_id
-- slices: doors
-- columns:
--   install_id   text     key
--   n            integer  doors, this one and all before it in its slice
select install_id, row_number() over (order by install_id) as n from doors
"""
DOORS = """-- doors: each door.
-- grain: one row per install_id
-- key: install_id
-- columns:
--   install_id   text     key
select install_id from installs
"""


@pytest.mark.parametrize("slice_rows", [0, 1, 2, 3, 4, 100])
def test_no_row_is_lost_or_doubled_between_slices(model_folder, slice_rows):
    graph = graph_of(model_folder({"staging/doors.sql": DOORS, "marts/areas.sql": AREAS}))
    doors = ["D'1", "D2", "D3", "D4", "E1"]
    with duckdb.connect() as connection:
        connection.execute("CREATE TABLE installs AS SELECT unnest(?) AS install_id", [doors])
        make_table(connection, graph, "doors", "memory")
        make_table(connection, graph, "areas", "memory", slice_rows=slice_rows)
        assert connection.execute("SELECT install_id FROM areas ORDER BY 1").fetchall() == [(door,) for door in doors]


def test_a_table_without_rows_to_slice_is_made_empty(model_folder):
    graph = graph_of(model_folder({"staging/doors.sql": DOORS, "marts/areas.sql": AREAS}))
    with duckdb.connect() as connection:
        connection.execute("CREATE TABLE installs (install_id VARCHAR)")
        make_table(connection, graph, "doors", "memory")
        make_table(connection, graph, "areas", "memory", slice_rows=2)
        assert connection.execute("SELECT count(*) FROM areas").fetchall() == [(0,)]

"""The tables as files: what a spreadsheet and a program may count on."""

import csv
import struct
from pathlib import Path

import duckdb
import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline import export
from pipeline.building.table_making import quoted
from pipeline.graph import Graph
from pipeline.model_files import Column, Header, Model

TYPES = {"fault": "text", "doors": "integer", "ratio": "double", "is_sure": "boolean", "at": "date"}


def a_graph(table: str = "effects") -> Graph:
    columns = tuple(Column(name, kind, "x") for name, kind in TYPES.items())
    header = Header("x", "x", ("fault",), columns)
    return Graph({table: Model(table, "marts", Path(f"{table}.sql"), "", header, ())}, ())


def exported(folder: Path, rows: str, monkeypatch=None, most_rows: int | None = None) -> Path:
    results = folder / "results.duckdb"
    results.unlink(missing_ok=True)
    with duckdb.connect(results) as connection:
        connection.execute(
            f"CREATE TABLE effects AS SELECT * FROM (VALUES {rows}) AS t({', '.join(map(quoted, TYPES))})"
        )
    if monkeypatch and most_rows:
        monkeypatch.setattr(export, "MOST_CSV_ROWS", most_rows)
    assert export.export_tables(results, folder / "tables", a_graph()) == ["effects"]
    return folder / "tables"


ROWS = """
    ('b', 2, 0.1::DOUBLE, true, DATE '2025-03-09'), ('a', NULL, 'nan'::DOUBLE, false, NULL),
    ('c', 1, 'inf'::DOUBLE, NULL, NULL), ('d, "quoted"', 1, 1e22::DOUBLE, NULL, NULL)
"""


def test_csv_is_utf8_with_commas_line_feeds_iso_dates_and_empty_nulls_in_key_order(tmp_path):
    text = (exported(tmp_path, ROWS) / "effects.csv").read_bytes().decode("utf-8")
    assert text == (
        'fault,doors,ratio,is_sure,at\na,,,false,\nb,2,0.1,true,2025-03-09\nc,1,,,\n"d, ""quoted""",1,1e+22,,\n'
    )


def test_parquet_holds_the_same_rows_and_no_infinite_number(tmp_path):
    frame = pl.read_parquet(exported(tmp_path, ROWS) / "effects.parquet")
    assert frame["fault"].to_list() == ["a", "b", "c", 'd, "quoted"']
    assert frame["ratio"].to_list() == [None, 0.1, None, 1e22]


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r"])
def test_text_that_a_spreadsheet_would_run_gets_an_apostrophe_in_csv_only(tmp_path, start):
    folder = exported(tmp_path, f"('{start}1+1', 1, 1.0::DOUBLE, true, NULL::DATE)")
    with (folder / "effects.csv").open(encoding="utf-8", newline="") as file:
        assert next(csv.DictReader(file))["fault"] == f"'{start}1+1"
    assert pl.read_parquet(folder / "effects.parquet")["fault"].to_list() == [f"{start}1+1"]


def test_negative_numbers_are_numbers_and_get_no_apostrophe(tmp_path):
    folder = exported(tmp_path, "('x', -3, -0.5::DOUBLE, true, NULL::DATE)")
    assert (folder / "effects.csv").read_text(encoding="utf-8").splitlines()[1] == "x,-3,-0.5,true,"


def test_a_very_long_table_comes_as_parquet_only(tmp_path, monkeypatch):
    folder = exported(tmp_path, ROWS, monkeypatch, most_rows=3)
    assert [path.name for path in folder.iterdir()] == ["effects.parquet"]


@settings(max_examples=10, deadline=None)
@given(st.lists(st.floats(allow_nan=False, allow_infinity=False), min_size=1, max_size=200))
def test_numbers_are_the_shortest_that_read_back_the_same(tmp_path_factory, numbers):
    rows = ", ".join(f"('{place:04}', 1, {number!r}::DOUBLE, true, NULL::DATE)" for place, number in enumerate(numbers))
    folder = exported(tmp_path_factory.mktemp("numbers"), rows)
    with (folder / "effects.csv").open(encoding="utf-8", newline="") as file:
        cells = [row["ratio"] for row in csv.DictReader(file)]
    for cell, number in zip(cells, numbers, strict=True):
        assert struct.pack("d", float(cell)) == struct.pack("d", number)
        assert digits(cell) <= digits(repr(number))


def digits(number: str) -> int:
    return len(number.split("e")[0].replace(".", "").replace("-", "").strip("0"))

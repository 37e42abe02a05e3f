"""The typed path for large files: DuckDB reads, types and converts every row at once and marks those it is unsure of.

It is sure only of rows that the judge would take in exactly so: exact words, exact unit names, plain numbers, ISO
days. What it is unsure of is read again as text and judged. Faster than the judge, never other.
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import polars as pl

from pipeline.catalogue import Catalogue
from pipeline.ingest.bulk_units import convert_landed
from pipeline.ingest.cells import cleaned
from pipeline.ingest.dates import FIRST_DAY, LAST_DAY
from pipeline.ingest.records import CHECKS, DAY, NUMBER, PLACE, READINGS, UNIT, WORD, Column, Record
from pipeline.ingest.store import CURRENT, UNSURE, quoted, rows_columns, rows_table, with_frame
from pipeline.ingest.words import known_place, word_lists

if TYPE_CHECKING:
    import duckdb

# Records that grow with the readings. The others are small, or hold personal cells.
BULKY = (READINGS, CHECKS)
_LARGEST = 1.7e308


@dataclass(frozen=True)
class Cell:
    """SQL of a cell: its value, and whether that is certain. A null of the source is certain."""

    value: str
    is_sure: str = "true"


@dataclass(frozen=True)
class BulkSource:
    """relation: what to read, as SQL, in the order of the file. cells: by column of the record, those it has."""

    relation: str
    cells: dict[str, Cell]


def text_cell(column: Column, name: str) -> Cell:
    """The SQL of a cell that is read as text."""
    if column.kind == NUMBER:
        value = f"try_cast({name} AS DOUBLE)"
        return number_cell(column, name, value, f"NOT contains({name}, '_')")
    if column.kind == DAY:
        value = f"try_cast({name} AS DATE)"
        return day_cell(name, value, f"length({name}) = 10 AND {name}[5] = '-' AND {name}[8] = '-'")
    return Cell(name)


def number_cell(column: Column, name: str, value: str, condition: str = "true") -> Cell:
    """The SQL of a number; certain where it is finite, within its column's bounds and fulfils the condition."""
    low = -_LARGEST if column.low is None else column.low
    high = _LARGEST if column.high is None else column.high
    # adding zero turns -0.0 into 0.0, as the judge does
    return Cell(f"{value} + 0.0", f"{name} IS NULL OR ({value} BETWEEN {low} AND {high} AND {condition})")


def day_cell(name: str, value: str, condition: str = "true") -> Cell:
    """The SQL of a day; certain where it is of 1900 to 2199 and fulfils the condition."""
    in_time = f"{value} BETWEEN DATE '{FIRST_DAY}' AND DATE '{LAST_DAY}'"
    return Cell(value, f"{name} IS NULL OR ({in_time} AND {condition})")


def land_bulk(
    connection: "duckdb.DuckDBPyConnection", record: Record, catalogue: Catalogue, source: BulkSource, load: int
) -> None:
    """Lands every row of a source under a load number, those that are not certain in the state UNSURE.

    The rows have no number yet, so that nobody sees them. They lie in the order of the source: no join may stand here.
    """
    values = {name: cell.value for name, cell in source.cells.items()}
    sure = [f"({cell.is_sure})" for cell in source.cells.values() if cell.is_sure != "true"]
    sure += [f"{values[name]} IS NOT NULL" for name in record.required]
    names = [name for name, _ in rows_columns(record)]
    chosen = ", ".join(values.get(name, "NULL") for name in names)
    state = f"CASE WHEN {' AND '.join(sure)} THEN {CURRENT} ELSE {UNSURE} END"
    connection.execute(
        f'INSERT INTO {rows_table(record)} ({quoted(*names)}, load, "row", state) '
        f"SELECT {chosen}, {load}, NULL, {state} FROM {source.relation} AS s"
    )
    _mark_odd_texts(connection, record, catalogue, load)
    if record is READINGS:
        convert_landed(connection, catalogue, load)


def _mark_odd_texts(connection: "duckdb.DuckDBPyConnection", record: Record, catalogue: Catalogue, load: int) -> None:
    """Marks rows whose texts the judge would change or refuse; each distinct text is looked at once."""
    lists = word_lists(catalogue)
    table = rows_table(record)
    for column in record.kept:
        if column.kind in (NUMBER, DAY, UNIT):
            continue
        name = column.name
        texts = connection.sql(
            f'SELECT DISTINCT "{name}" AS t FROM {table} WHERE load = {load} AND "{name}" IS NOT NULL'
        ).pl()
        odd = texts.filter(_is_odd(column, texts["t"], lists))
        if odd.height:
            marked = f'load = {load} AND "{name}" IN (SELECT t FROM incoming)'
            with_frame(connection, odd, f"UPDATE {table} SET state = {UNSURE} WHERE {marked}")


def _is_odd(column: Column, texts: pl.Series, lists: dict[str, tuple[str, ...]]) -> pl.Expr:
    if column.kind == WORD:
        return ~pl.col("t").is_in(list(lists[column.list_name]))
    is_odd = cleaned("t").is_null() | (cleaned("t") != pl.col("t"))
    if column.kind == PLACE:
        return is_odd | (pl.Series("t", [known_place(text) for text in texts], dtype=pl.String) != texts)
    return is_odd

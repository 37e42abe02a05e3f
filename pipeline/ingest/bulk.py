"""The typed path for large files: DuckDB reads, types and converts every row at once and marks those it is unsure of.

It is sure only of rows that the judge would take in exactly so: exact words, exact unit names, plain numbers, ISO
days. What it is unsure of is read again as text and judged. Faster than the judge, never other.
"""

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

import polars as pl

from pipeline.catalogue import Catalogue
from pipeline.ingest.bulk_units import convert_landed
from pipeline.ingest.cells import cleaned
from pipeline.ingest.dates import LAST_DAY
from pipeline.ingest.records import CHECKS, DAY, NUMBER, PLACE, READINGS, UNIT, WORD, Column, Record
from pipeline.ingest.store import CURRENT, UNSURE, quoted, rows_columns, rows_table, with_frame
from pipeline.ingest.words import known_place, word_lists

if TYPE_CHECKING:
    import duckdb

# Records that grow with the readings. The others are small, or hold personal cells.
BULKY = (READINGS, CHECKS)
LARGEST = 1e300
NOT_A_NUMBER = 1e308
NOT_A_DAY = date(1, 1, 1)
# Words such as "epoch" are days to DuckDB; what lies before this day is left to the judge.
FIRST_CERTAIN_DAY = date(1990, 1, 1)


@dataclass(frozen=True)
class BulkSource:
    """relation: what to read, as SQL, in the order of the file. cells: SQL by column of the record, those it has."""

    relation: str
    cells: dict[str, str]


def typed_cell(column: Column, name: str) -> str:
    """The SQL of a cell that is read as text. What cannot be typed becomes a number or day that no record may hold."""
    if column.kind == NUMBER:
        # adding zero turns -0.0 into 0.0, as the judge does
        return _or_else(name, f"try_cast({name} AS DOUBLE) + 0.0", str(NOT_A_NUMBER))
    if column.kind == DAY:
        return _or_else(name, f"try_cast({name} AS DATE)", f"DATE '{NOT_A_DAY}'")
    return name


def _or_else(name: str, typed: str, mark: str) -> str:
    return f"coalesce({typed}, CASE WHEN {name} IS NOT NULL THEN {mark} END)"


def land_bulk(
    connection: "duckdb.DuckDBPyConnection", record: Record, catalogue: Catalogue, source: BulkSource, load: int
) -> None:
    """Lands every row of a source under a load number, then marks those that are not certain UNSURE.

    The rows have no number yet, so that nobody sees them. They lie in the order of the source: no join may stand here.
    """
    names = [name for name, _ in rows_columns(record)]
    chosen = ", ".join(source.cells.get(name, "NULL") for name in names)
    connection.execute(
        f'INSERT INTO {rows_table(record)} ({quoted(*names)}, load, "row", state) '
        f"SELECT {chosen}, {load}, NULL, {CURRENT} FROM {source.relation} AS s"
    )
    doubts = " OR ".join(doubt for column in record.kept for doubt in _doubts(column))
    connection.execute(f"UPDATE {rows_table(record)} SET state = {UNSURE} WHERE load = {load} AND ({doubts})")
    _mark_odd_texts(connection, record, catalogue, load)
    if record is READINGS:
        convert_landed(connection, catalogue, load)


def _doubts(column: Column) -> list[str]:
    """SQL conditions under which the judge has to see a typed cell."""
    doubts = [f'"{column.name}" IS NULL'] if column.is_required else []
    if column.kind == NUMBER:
        low = -LARGEST if column.low is None else column.low
        high = LARGEST if column.high is None else column.high
        doubts.append(f'"{column.name}" NOT BETWEEN {low} AND {high}')
    if column.kind == DAY:
        doubts.append(f"\"{column.name}\" NOT BETWEEN DATE '{FIRST_CERTAIN_DAY}' AND DATE '{LAST_DAY}'")
    return doubts


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

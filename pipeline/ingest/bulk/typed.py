"""The typed path for large files: DuckDB reads and types every row at once; what is not certain goes to the judge.

Certain is only what the judge would take in exactly so: exact words, exact unit names, plain numbers, days year
first. Whether it is, is asked after landing, once for each distinct text, measure and unit. Faster than the judge,
never other: where the rows left to the judge show that a point may not be a decimal mark, none is certain.
"""

from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

import polars as pl

from pipeline.catalogue import Catalogue
from pipeline.ingest.bulk.units import convert_landed
from pipeline.ingest.files.sheets import Part
from pipeline.ingest.history.segments import make_load_table
from pipeline.ingest.history.store import one_row, quoted, with_frame
from pipeline.ingest.judging.cells import text_said
from pipeline.ingest.judging.evidence import SHOWS_POINT
from pipeline.ingest.judging.judge import Judge
from pipeline.ingest.records import CHECKS, DAY, NUMBER, PLACE, READINGS, UNIT, WORD, Column, Record
from pipeline.ingest.texts.dates import LAST_DAY
from pipeline.ingest.texts.manners import Manners
from pipeline.ingest.texts.words import known_place, plain, word_lists

if TYPE_CHECKING:
    import duckdb

# Records that grow with the readings. The others are small, or hold personal cells.
BULKY = (READINGS, CHECKS)
LARGEST = 1e300
NOT_A_NUMBER = 1e308
NOT_A_DAY = date(1, 1, 1)
# Words such as "epoch" are days to DuckDB; what lies before this day is left to the judge.
FIRST_CERTAIN_DAY = date(1990, 1, 1)


# LIKE costs a third of what string functions do; blanks behind a number are left to the judge
_MAY_BE_DOUBTFUL = "{0} LIKE '%.___' OR {0} LIKE '% ' OR {0} LIKE '%\t'"


@dataclass(frozen=True)
class BulkSource:
    """relation: what to read, as SQL, in the order of the file. cells: SQL by column of the record, those it has."""

    relation: str
    cells: dict[str, str]


def typed_cell(column: Column, name: str) -> str:
    """The SQL of a cell that is read as text.

    What cannot be typed becomes null where the column is required, else a number or day that no record may hold.
    """
    if column.kind == NUMBER:
        # adding zero turns -0.0 into 0.0, as the judge does
        # a point before three digits may stand between thousands: the judge looks at the whole column
        typed = f"CASE WHEN {_MAY_BE_DOUBTFUL.format(name)} THEN NULL ELSE try_cast({name} AS DOUBLE) + 0.0 END"
        mark = str(NOT_A_NUMBER)
    elif column.kind == DAY:
        typed, mark = f"try_cast({name} AS DATE)", f"DATE '{NOT_A_DAY}'"
    else:
        return name
    return typed if column.is_required else f"coalesce({typed}, CASE WHEN {name} IS NOT NULL THEN {mark} END)"


def land_bulk(connection: "duckdb.DuckDBPyConnection", record: Record, source: BulkSource, load: int) -> str:
    """Lands every row of a source in a table of its own, in the order of the source; the table's name."""
    names = [column.name for column in record.kept if column.name in source.cells]
    table = make_load_table(connection, record, load, names)
    cells = ", ".join(source.cells[name] for name in names)
    connection.execute(f"INSERT INTO {table} ({quoted(*names)}) SELECT {cells} FROM {source.relation} AS s")
    return table


def find_unsure(
    connection: "duckdb.DuckDBPyConnection", record: Record, catalogue: Catalogue, table: str, odd: str = "^$"
) -> list[int]:
    """The rowids of landed rows that the judge has to see; the others are now converted as he would.

    odd  a pattern of texts that the typed path may have read otherwise than the text reader
    """
    connection.execute("CREATE OR REPLACE TEMP TABLE unsure (id BIGINT)")
    names = {name for name, *_ in connection.execute(f"DESCRIBE {table}").fetchall()}
    columns = [column for column in record.kept if column.name in names]
    doubts = " OR ".join(doubt for column in columns for doubt in _doubts(column))
    connection.execute(f"INSERT INTO unsure SELECT rowid FROM {table} WHERE {doubts}")
    _find_odd_texts(connection, columns, catalogue, table, odd)
    if record is READINGS:
        convert_landed(connection, catalogue, table)
    return [id_ for (id_,) in connection.execute("SELECT DISTINCT id FROM unsure ORDER BY id").fetchall()]


def with_mended(unsure: Iterable[int], mended: Collection[int], numbers: range) -> list[int]:
    """The numbers of rows that the judge has to see, those that people corrected among them. numbers: of all rows."""
    return sorted({*unsure, *(row for row in mended if row in numbers)})


def certain_manners(
    judge: Judge,
    parts: Iterable[Part],
    find_point: Callable[[str], str | None],
    landed: tuple["duckdb.DuckDBPyConnection", str],
) -> Manners | None:
    """How the rows left to the judge are written; None where a typed cell may have been another than it seemed.

    find_point  gives, for a number column, a text that shows a decimal point, or None
    landed      the table of the typed rows, and the connection that it is on
    """
    evidence = judge.evidence()
    for part in parts:
        evidence.add(part.rows)
    for name in evidence.doubtful_points:
        text = find_point(name)
        if text is not None:
            evidence.show_point(name, text)
    for name in evidence.doubtful_days:
        evidence.show_days(name, _typed_days(*landed, name))
    return None if evidence.has_exchanged or evidence.has_yearless else evidence.manners()


def shown_point(connection: "duckdb.DuckDBPyConnection", relation: str, text: str) -> str | None:
    """A text that shows a decimal point among the cells `text` of a relation, as unsigned digits."""
    shown = f"min(ltrim(t, '+-')) FILTER (regexp_matches(t, '{SHOWS_POINT}'))"
    (point,) = one_row(connection, f"SELECT {shown} FROM (SELECT trim({text}) AS t FROM {relation} AS s)")
    return point


def _typed_days(connection: "duckdb.DuckDBPyConnection", table: str, name: str) -> list[date]:
    """The days of a column of a landed table."""
    is_day = f"\"{name}\" BETWEEN DATE '{FIRST_CERTAIN_DAY}' AND DATE '{LAST_DAY}'"
    return [day for (day,) in connection.execute(f'SELECT DISTINCT "{name}" FROM {table} WHERE {is_day}').fetchall()]


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


def _find_odd_texts(
    connection: "duckdb.DuckDBPyConnection", columns: list[Column], catalogue: Catalogue, table: str, pattern: str
) -> None:
    """Finds rows whose texts the judge would change or refuse; each distinct text is looked at once."""
    lists = word_lists(catalogue)
    for column in columns:
        if column.kind in (NUMBER, DAY, UNIT):
            continue
        name = column.name
        texts = connection.sql(f'SELECT DISTINCT "{name}" AS t FROM {table} WHERE "{name}" IS NOT NULL').pl()
        is_odd = _is_odd(column, texts["t"], lists) | pl.col("t").str.contains(pattern)
        odd = texts.filter(is_odd | _is_turned(column, texts["t"], catalogue))
        if odd.height:
            found = f'SELECT rowid FROM {table} WHERE "{name}" IN (SELECT t FROM incoming)'
            with_frame(connection, odd, f"INSERT INTO unsure {found}")


def _is_turned(column: Column, texts: pl.Series, catalogue: Catalogue) -> pl.Expr:
    """Whether plain numbers of a person are turned by a declared sign."""
    people = {plain(sign.read_by) for sign in catalogue.customs.signs if sign.text is None and sign.read_by}
    is_turned = [column.name == "read_by" and plain(text) in people for text in texts]
    return pl.lit(pl.Series(is_turned, dtype=pl.Boolean))


def _is_odd(column: Column, texts: pl.Series, lists: dict[str, tuple[str, ...]]) -> pl.Expr:
    if column.kind == WORD:
        return ~pl.col("t").is_in(list(lists[column.list_name]))
    said = text_said(column, "t")
    is_odd = said.is_null() | (said != pl.col("t"))
    if column.kind == PLACE:
        return is_odd | pl.Series("t", [known_place(text) != text for text in texts], dtype=pl.Boolean)
    return is_odd

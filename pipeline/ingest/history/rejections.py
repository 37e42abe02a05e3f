"""Writes the table of everything not taken in: file, row or cell, where it stands, and why."""

from typing import TYPE_CHECKING

import polars as pl

from pipeline.errors import did_you_mean
from pipeline.ingest.history.as_of import LastDay
from pipeline.ingest.history.row_keys import place_sql, row_sql
from pipeline.ingest.history.segments import all_rows, records_in_use
from pipeline.ingest.history.store import (
    CONTRADICTS,
    NO_CREW,
    NO_DOOR,
    NO_LENGTH,
    SET_ASIDE,
    TOO_LATE,
    one_row,
    with_frame,
)
from pipeline.ingest.records import CALLBACKS, DAY, INSTALLS, READINGS, Record

if TYPE_CHECKING:
    import duckdb

_KEY = 'r."row"'
_FOUND = """
    CREATE OR REPLACE TEMP TABLE found (
        load INTEGER, file TEXT, sheet TEXT, "row" BIGINT, "column" TEXT, "value" TEXT, reason TEXT, record TEXT,
        scope TEXT)
"""
# What was found, in the order found, where a person finds it: with the spreadsheet's row and, in a mapped sheet, its
# own heading for the column.
_WHERE_IT_STANDS = f"""
    INSERT INTO rejections (file, sheet, "row", "column", "value", reason, record, scope)
    SELECT r.file, r.sheet, {row_sql(_KEY)}, coalesce(h.heading, r."column"), r."value", r.reason, r.record, r.scope
    FROM found AS r LEFT JOIN headings AS h
        ON h.load = r.load AND h."column" = r."column" AND h.place IN (0, {place_sql(_KEY)})
    ORDER BY r.rowid
"""


def write_rejections(
    connection: "duckdb.DuckDBPyConnection",
    refused: list[tuple[str, str, str]],
    late: dict[str, list[str]],
    last_day: LastDay,
) -> None:
    """Fills `rejections` anew.

    refused  (record, file, reason) of files that could not be read
    late     by record, its optional date columns that hold a day after the last one
    """
    connection.execute("DELETE FROM rejections")
    connection.execute(_FOUND)
    for record_name, file, reason in refused:
        refusal = "INSERT INTO found VALUES (NULL, ?, NULL, NULL, NULL, NULL, ?, ?, 'file')"
        connection.execute(refusal, [file, reason, record_name])
    _find_doors_set_aside(connection)
    for record in records_in_use(connection):
        connection.execute(f"INSERT INTO found {_from_reading(record)}")
        for select in _cells_emptied(record, late[record.name], last_day):
            connection.execute(f"INSERT INTO found {select}")
        if _find_marked(connection, record):
            for select in _rows_marked(connection, record, last_day):
                connection.execute(f"INSERT INTO found {select}")
    connection.execute(_WHERE_IT_STANDS)


def _from_reading(record: Record) -> str:
    """What was found wrong while reading; cells of rows that no longer count are left out."""
    return f"""
        SELECT p.load, l.file, l.sheet, p."row", p."column", p."value", p.reason, l.record, p.scope
        FROM problems AS p JOIN loads AS l ON l.load = p.load
        LEFT JOIN marks AS m ON m.load = p.load AND m."row" = p."row"
        WHERE l.replaced_in IS NULL AND l.record = '{record.name}'
            AND (p.scope = 'row' OR m.state IS NULL OR m.state IN {SET_ASIDE})
    """


def _cells_emptied(record: Record, late: list[str], last_day: LastDay) -> list[str]:
    """Cells of current rows that read as empty: days to come, and doors that are not known."""
    found = []
    for name in late:
        found.append(_cells(record, name, f"r.\"{name}\" > DATE '{last_day.day}'", _too_late(name, last_day)))
    if record is CALLBACKS:
        is_unknown = "r.install_id NOT IN (SELECT install_id FROM installs)"
        found.append(_cells(record, "install_id", is_unknown, _NO_DOOR_REASON))
    return found


def _cells(record: Record, column: str, condition: str, reason: str) -> str:
    return f"""
        SELECT r.load, l.file, l.sheet, r."row", '{column}', r."{column}"::TEXT, {reason}, l.record, 'cell'
        FROM {all_rows(record)} AS r JOIN loads AS l ON l.load = r.load
        ANTI JOIN marks AS m ON m.load = r.load AND m."row" = r."row"
        WHERE {condition}
    """


def _find_marked(connection: "duckdb.DuckDBPyConnection", record: Record) -> int:
    """Makes the temporary table `marked`: the rows set aside for what other rows say, with where they stand."""
    connection.execute(
        f"""
        CREATE OR REPLACE TEMP TABLE marks_of_record AS
        SELECT m.load, m."row", m.state, l.file, l.sheet, l."version", {_place("l", "m")} AS place
        FROM marks AS m JOIN loads AS l ON l.load = m.load
        WHERE l.record = '{record.name}' AND m.state IN {SET_ASIDE}
        """
    )
    n_marked = int(one_row(connection, "SELECT count(*) FROM marks_of_record")[0])
    if n_marked:
        connection.execute(
            'CREATE OR REPLACE TEMP TABLE marked AS SELECT r.*, m.state, m.file, m.sheet, m."version", m.place '
            f'FROM {all_rows(record)} AS r JOIN marks_of_record AS m ON m.load = r.load AND m."row" = r."row"'
        )
    return n_marked


def _rows_marked(connection: "duckdb.DuckDBPyConnection", record: Record, last_day: LastDay) -> list[str]:
    names = {column.name for column in record.columns}
    found = [_contradictions(record)]
    for column in record.kept:
        if column.is_required and column.kind == DAY:
            found.append(_rows(record, TOO_LATE, column.name, _too_late(column.name, last_day)))
    if record is READINGS:
        found.append(_rows(record, NO_LENGTH, "value", _NO_LENGTH_REASON, value="r.written_value::TEXT"))
    if "install_id" in names and record is not INSTALLS:
        found.append(_rows(record, NO_DOOR, "install_id", _NO_DOOR_REASON))
    if "crew" in names:
        _find_unknown_crews(connection)
        found.append(_rows(record, NO_CREW, "crew", "(SELECT reason FROM unknown_crews AS u WHERE u.crew = r.crew)"))
    return found


def _rows(record: Record, state: int, column: str, reason: str, value: str = "") -> str:
    return f"""
        SELECT r.load, r.file, r.sheet, r."row", '{column}', {value or f'r."{column}"::TEXT'}, {reason},
            '{record.name}', 'row'
        FROM marked AS r WHERE r.state = {state}
    """


_NO_LENGTH_REASON = (
    "'a lean in ' || r.written_unit || ' needs a length; write position_mm in this row, or ' || "
    "CASE WHEN r.measure LIKE 'sill%' THEN 'width_mm' ELSE 'height_mm' END || ' of the door in installs'"
)
_NO_DOOR_REASON = (
    "coalesce((SELECT min('door ' || d.install_id || ' is set aside (' || d.place || "
    "'); this comes in by itself once that is mended') FROM doors_set_aside AS d WHERE d.install_id = r.install_id), "
    "'no door ' || r.install_id || ' in installs; add the door or correct the install_id')"
)


def _too_late(name: str, last_day: LastDay) -> str:
    return f"r.\"{name}\"::TEXT || ' is later than {last_day.words}; correct it'"


def _contradictions(record: Record) -> str:
    """Names the other rows under the same key in the same delivery."""
    key = ", ".join(record.key_terms)
    what = record.key[0] if len(record.key) == 1 else f"{', '.join(record.key[:-1])} and {record.key[-1]}"
    return f"""
        SELECT load, file, sheet, "row", NULL, NULL,
            'contradicts ' || CASE WHEN first_place = place THEN last_place ELSE first_place END
                || CASE WHEN n_rows > 2 THEN ' and ' || (n_rows - 2) || ' more' ELSE '' END
                || ': the same {what}, other values; keep the right one',
            '{record.name}', 'row'
        FROM (
            SELECT r.load, r.file, r.sheet, r."row", r.place, count(*) OVER same_key AS n_rows,
                first_value(r.place) OVER same_key AS first_place, last_value(r.place) OVER same_key AS last_place
            FROM marked AS r WHERE r.state = {CONTRADICTS}
            WINDOW same_key AS (PARTITION BY {key}, r."version" ORDER BY r.load, r."row"
                ROWS BETWEEN UNBOUNDED PRECEDING AND UNBOUNDED FOLLOWING)
        )
    """


def _place(load: str, row: str) -> str:
    number = row_sql(f'{row}."row"')
    return f"{load}.file || coalesce(', sheet ' || {load}.sheet, '') || ', row ' || {number}"


def _find_doors_set_aside(connection: "duckdb.DuckDBPyConnection") -> None:
    connection.execute(
        f"""
        CREATE OR REPLACE TEMP TABLE doors_set_aside AS
        SELECT p.door AS install_id, {_place("l", "p")} AS place
        FROM problems AS p JOIN loads AS l ON l.load = p.load
        WHERE l.replaced_in IS NULL AND l.record = 'installs' AND p.scope = 'row' AND p.door IS NOT NULL
        UNION ALL
        SELECT r.install_id, {_place("l", "r")}
        FROM all_installs AS r JOIN loads AS l ON l.load = r.load
        JOIN marks AS m ON m.load = r.load AND m."row" = r."row"
        WHERE m.state IN {SET_ASIDE}
        """
    )


def _find_unknown_crews(connection: "duckdb.DuckDBPyConnection") -> None:
    known = [crew for (crew,) in connection.execute("SELECT crew FROM crews ORDER BY crew").fetchall()]
    found = connection.execute(f"SELECT DISTINCT crew FROM marked WHERE state = {NO_CREW}").fetchall()
    hints = [(crew, did_you_mean(crew, known) or "; add it or correct the crew") for (crew,) in found]
    unknown = pl.DataFrame(
        [(crew, f"no crew {crew} in crews{hint}") for crew, hint in hints],
        schema={"crew": pl.String, "reason": pl.String},
        orient="row",
    )
    with_frame(connection, unknown, "CREATE OR REPLACE TEMP TABLE unknown_crews AS FROM incoming")

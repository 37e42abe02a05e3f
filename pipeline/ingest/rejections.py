"""Writes the table of everything not taken in: file, row or cell, where it stands, and why."""

from typing import TYPE_CHECKING

import polars as pl

from pipeline.errors import did_you_mean
from pipeline.ingest.as_of import LastDay
from pipeline.ingest.fitness import LIVE
from pipeline.ingest.records import CALLBACKS, DAY, READINGS, RECORDS, Record
from pipeline.ingest.store import (
    CONTRADICTS,
    CURRENT,
    NO_CREW,
    NO_DOOR,
    NO_LENGTH,
    SET_ASIDE,
    TOO_LATE,
    rows_table,
    with_frame,
)

if TYPE_CHECKING:
    import duckdb

_PLACE = 'l.file, l.sheet, r."row"'


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
    connection.executemany(
        "INSERT INTO rejections SELECT file, NULL, NULL, NULL, NULL, reason, record, 'file' "
        "FROM (SELECT ? AS record, ? AS file, ? AS reason)",
        refused or [("", "", "")],
    )
    connection.execute("DELETE FROM rejections WHERE file = ''")
    _find_doors_set_aside(connection)
    for record in RECORDS:
        for select in _selects(connection, record, late[record.name], last_day):
            connection.execute(f"INSERT INTO rejections {select}")


def _selects(connection: "duckdb.DuckDBPyConnection", record: Record, late: list[str], last_day: LastDay) -> list[str]:
    names = [column.name for column in record.columns]
    found = [_from_reading(record), _contradictions(record)]
    days = [column.name for column in record.kept if column.is_required and column.kind == DAY]
    too_late = f"' is later than {last_day.words}; correct it'"
    found += [_rows(record, TOO_LATE, name, f'r."{name}"::TEXT || {too_late}') for name in days]
    for name in late:
        found.append(_cells(record, name, f"\"{name}\" > DATE '{last_day.day}'", f'r."{name}"::TEXT || {too_late}'))
    if record is READINGS:
        found.append(_without_length())
    if "install_id" in names and record.key != ("install_id",):
        found.append(_without_door(record))
    if "crew" in names and record.key != ("crew",):
        _find_unknown_crews(connection, record)
        found.append(_rows(record, NO_CREW, "crew", "(SELECT reason FROM unknown_crews AS u WHERE u.crew = r.crew)"))
    return found


def _from_reading(record: Record) -> str:
    """What was found wrong while reading; cells of rows that no longer count are left out."""
    return f"""
        SELECT l.file, l.sheet, p."row", p."column", p."value", p.reason, l.record, p.scope
        FROM problems AS p JOIN loads AS l ON l.load = p.load
        LEFT JOIN {rows_table(record)} AS r ON r.load = p.load AND r."row" = p."row"
        WHERE l.replaced_in IS NULL AND l.record = '{record.name}'
            AND (p.scope = 'row' OR r.state IN {(CURRENT, *SET_ASIDE)})
    """


def _rows(record: Record, state: int, column: str, reason: str) -> str:
    return _lines(record, f"r.state = {state}", column, reason, "row")


def _cells(record: Record, column: str, condition: str, reason: str) -> str:
    return _lines(record, f"r.state = {CURRENT} AND {condition}", column, reason, "cell")


def _lines(record: Record, condition: str, column: str, reason: str, scope: str) -> str:
    return f"""
        SELECT {_PLACE}, '{column}', r."{column}"::TEXT, {reason}, l.record, '{scope}'
        FROM {rows_table(record)} AS r JOIN loads AS l ON l.load = r.load
        WHERE l.replaced_in IS NULL AND r."row" IS NOT NULL AND {condition}
    """


def _without_length() -> str:
    reason = (
        "'a lean in ' || r.written_unit || ' needs a length; write position_mm in this row, or ' || "
        "CASE WHEN r.measure LIKE 'sill%' THEN 'width_mm' ELSE 'height_mm' END || ' of the door in installs'"
    )
    return _rows(READINGS, NO_LENGTH, "value", reason).replace('r."value"::TEXT', "r.written_value::TEXT")


def _without_door(record: Record) -> str:
    reason = (
        "coalesce((SELECT any_value('door ' || d.install_id || ' is set aside (' || d.place || "
        "'); it comes in by itself once that is mended') FROM doors_set_aside AS d WHERE d.install_id = r.install_id), "
        "'no door ' || r.install_id || ' in installs; add the door or correct the install_id')"
    )
    if record is CALLBACKS:
        return _cells(record, "install_id", "r.install_id NOT IN (SELECT install_id FROM installs)", reason)
    return _rows(record, NO_DOOR, "install_id", reason)


def _contradictions(record: Record) -> str:
    """Names the other rows under the same key in the same delivery."""
    table, key = rows_table(record), ", ".join(f'r."{name}"' for name in record.key)
    other = "CASE WHEN first_place = place THEN last_place ELSE first_place END"
    what = record.key[0] if len(record.key) == 1 else f"{', '.join(record.key[:-1])} and {record.key[-1]}"
    return f"""
        SELECT file, sheet, "row", NULL, NULL,
            'contradicts ' || {other} || CASE WHEN n_rows > 2 THEN ' and ' || (n_rows - 2) || ' more' ELSE '' END
                || ': the same {what}, other values; keep the right one',
            '{record.name}', 'row'
        FROM (
            SELECT {_PLACE}, {_place("l", "r")} AS place, count(*) OVER same_key AS n_rows,
                first_value({_place("l", "r")}) OVER same_key AS first_place,
                last_value({_place("l", "r")}) OVER same_key AS last_place
            FROM {table} AS r JOIN loads AS l ON l.load = r.load
            WHERE l.replaced_in IS NULL AND r."row" IS NOT NULL AND r.state = {CONTRADICTS}
            WINDOW same_key AS (PARTITION BY {key}, l."version" ORDER BY r.load, r."row"
                ROWS BETWEEN UNBOUNDED PRECEDING AND UNBOUNDED FOLLOWING)
        )
    """


def _place(load: str, row: str) -> str:
    return f"{load}.file || coalesce(', sheet ' || {load}.sheet, '') || ', row ' || {row}.\"row\""


def _find_doors_set_aside(connection: "duckdb.DuckDBPyConnection") -> None:
    connection.execute(
        f"""
        CREATE OR REPLACE TEMP TABLE doors_set_aside AS
        SELECT p.door AS install_id, {_place("l", "p")} AS place
        FROM problems AS p JOIN loads AS l ON l.load = p.load
        WHERE l.replaced_in IS NULL AND l.record = 'installs' AND p.scope = 'row' AND p.door IS NOT NULL
        UNION ALL
        SELECT r.install_id, {_place("l", "r")}
        FROM installs_rows AS r JOIN loads AS l ON l.load = r.load
        WHERE l.replaced_in IS NULL AND r.state IN {SET_ASIDE}
        """
    )


def _find_unknown_crews(connection: "duckdb.DuckDBPyConnection", record: Record) -> None:
    known = [crew for (crew,) in connection.execute("SELECT crew FROM crews ORDER BY crew").fetchall()]
    found = connection.execute(
        f"SELECT DISTINCT crew FROM {rows_table(record)} WHERE {LIVE} AND state = {NO_CREW}"
    ).fetchall()
    hints = [(crew, did_you_mean(crew, known) or "; add it or correct the crew") for (crew,) in found]
    unknown = pl.DataFrame(
        [(crew, f"no crew {crew} in crews{hint}") for crew, hint in hints],
        schema={"crew": pl.String, "reason": pl.String},
        orient="row",
    )
    with_frame(connection, unknown, "CREATE OR REPLACE TEMP TABLE unknown_crews AS FROM incoming")

"""Rows of one key that say different things about it, none of them against another: one row, with the cells of all.

A door stands in the register and on its own form, and each says what the other leaves empty. The row that counts
borrows what the others of its key say; what it borrowed is taken back before rows are settled anew.
"""

from typing import TYPE_CHECKING

from pipeline.ingest.history.store import CURRENT, PEOPLE_TABLES, REPEAT, SUPERSEDED, one_row, rows_table
from pipeline.ingest.records import Record, record_named

if TYPE_CHECKING:
    import duckdb

# A later row that counts says more than an earlier one; of one delivery the first.
_NEWEST = '(o.v, -o.load, -o."row")'
_PAIRS = f"""
    SELECT c.load, c."row", o.load AS of_load, o."row" AS of_row, o.k, o.v FROM settled AS c
    JOIN settled AS o ON o.k = c.k AND o.v <= c.v AND (o.load, o."row") <> (c.load, c."row")
    WHERE c.state = {CURRENT} AND o.state IN ({REPEAT}, {SUPERSEDED})
"""


def take_back(connection: "duckdb.DuckDBPyConnection", record: Record) -> None:
    """Empties the cells that rows of a record borrowed."""
    borrowed = 'SELECT DISTINCT "column" FROM borrowed WHERE record = ?'
    for (name,) in connection.execute(borrowed, [record.name]).fetchall():
        connection.execute(
            f'UPDATE {rows_table(record)} AS r SET "{name}" = NULL FROM borrowed AS b '
            f'WHERE b.record = \'{record.name}\' AND b."column" = \'{name}\' AND b.load = r.load AND b."row" = r."row"'
        )
    connection.execute("DELETE FROM borrowed WHERE record = ?", [record.name])
    connection.execute("DELETE FROM lenders WHERE record = ?", [record.name])


def lend(connection: "duckdb.DuckDBPyConnection", record: Record) -> None:
    """Fills the empty cells of rows that count with what others of their key say; notes who may lend personal cells.

    Reads the temporary table `settled`: load, row, k (the same for one key), v (version), state and the cells.
    """
    names = _may_lend(record)
    if not names:
        return
    lent = ", ".join(
        f'arg_max(o."{name}", {_NEWEST}) FILTER (WHERE o."{name}" IS NOT NULL) AS "{name}"' for name in names
    )
    connection.execute(
        f'CREATE OR REPLACE TEMP TABLE lent AS SELECT p.load, p."row", {lent} FROM ({_PAIRS}) AS p '
        'JOIN settled AS o ON o.load = p.of_load AND o."row" = p.of_row GROUP BY ALL'
    )
    for name in names:
        wanted = f'r.load = l.load AND r."row" = l."row" AND r."{name}" IS NULL AND l."{name}" IS NOT NULL'
        table = rows_table(record)
        connection.execute(
            f"INSERT INTO borrowed SELECT '{record.name}', l.load, l.\"row\", '{name}' FROM lent AS l, {table} AS r "
            f"WHERE {wanted}"
        )
        connection.execute(f'UPDATE {table} AS r SET "{name}" = l."{name}" FROM lent AS l WHERE {wanted}')
    _note_lenders(connection, record)


def lend_personal(connection: "duckdb.DuckDBPyConnection") -> None:
    """Fills the empty personal cells of current rows with those of the rows noted as their lenders."""
    if not one_row(connection, "SELECT count(*) FROM lenders")[0]:
        return
    for record_name, table in PEOPLE_TABLES.items():
        for column in record_named(record_name).personal:
            name = column.name
            wanted = f"""
                SELECT l.load, l."row", max(o."{name}") AS "{name}" FROM lenders AS l
                JOIN {table} AS o ON o.load = l.of_load AND o."row" = l.of_row
                WHERE l.record = '{record_name}' AND o."{name}" IS NOT NULL GROUP BY ALL
            """
            connection.execute(
                f"INSERT INTO people.borrowed SELECT '{record_name}', p.load, p.\"row\", '{name}' FROM {table} AS p "
                f'JOIN ({wanted}) AS w ON w.load = p.load AND w."row" = p."row" WHERE p."{name}" IS NULL'
            )
            connection.execute(
                f'UPDATE {table} AS p SET "{name}" = w."{name}" FROM ({wanted}) AS w '
                f'WHERE w.load = p.load AND w."row" = p."row" AND p."{name}" IS NULL'
            )


def take_back_personal(connection: "duckdb.DuckDBPyConnection") -> None:
    """Empties the personal cells that rows borrowed."""
    if not one_row(connection, "SELECT count(*) FROM people.borrowed")[0]:
        return
    for record_name, table in PEOPLE_TABLES.items():
        for column in record_named(record_name).personal:
            connection.execute(
                f'UPDATE {table} AS p SET "{column.name}" = NULL FROM people.borrowed AS b WHERE b.record = '
                f'\'{record_name}\' AND b."column" = \'{column.name}\' AND b.load = p.load AND b."row" = p."row"'
            )
    connection.execute("DELETE FROM people.borrowed")


def _may_lend(record: Record) -> list[str]:
    """The cells that a row may leave empty and that are no part of its key."""
    return [column.name for column in record.kept if not column.is_required and column.name not in record.key]


def _note_lenders(connection: "duckdb.DuckDBPyConnection", record: Record) -> None:
    """The rows whose personal cells the current row of their key may borrow: none where two of them differ."""
    if not record.personal:
        return
    agree = " AND ".join(f'count(DISTINCT "{column.name}") <= 1' for column in record.personal)
    connection.execute(
        f"INSERT INTO lenders SELECT '{record.name}', p.load, p.\"row\", p.of_load, p.of_row FROM ({_PAIRS}) AS p "
        f"WHERE p.k IN (SELECT k FROM settled GROUP BY k HAVING {agree})"
    )

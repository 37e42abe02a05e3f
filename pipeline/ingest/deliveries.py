"""Rows under one key: exact repeats, rows that contradict each other, rows that a later delivery supersedes.

A delivery is everything newly read in one run. The states follow from the rows alone, so they are settled anew
whenever a load came or went; a cheap test finds the keys that stand more than once, and only those are looked at.
"""

from typing import TYPE_CHECKING

import polars as pl

from pipeline.ingest.fitness import LIVE
from pipeline.ingest.records import Record
from pipeline.ingest.store import (
    CONTRADICTS,
    CURRENT,
    PEOPLE_TABLES,
    REPEAT,
    SUPERSEDED,
    one_row,
    quoted,
    rows_table,
    with_frame,
)

if TYPE_CHECKING:
    import duckdb

# Hashes looked at together: 8 bytes each.
_MOST_HASHES = 16_000_000


def settle(connection: "duckdb.DuckDBPyConnection", record: Record) -> None:
    """Sets the state of every live row that can count: current, superseded, repeat or contradicts."""
    table = rows_table(record)
    connection.execute(
        f"UPDATE {table} SET state = {CURRENT} WHERE {LIVE} AND state IN {(SUPERSEDED, REPEAT, CONTRADICTS)}"
    )
    if not _find_suspects(connection, record):
        return
    connection.execute(_settled(record))
    connection.execute(
        f"UPDATE {table} SET state = s.state FROM settled AS s WHERE {table}.rowid = s.id AND s.state <> {CURRENT}"
    )


def _find_suspects(connection: "duckdb.DuckDBPyConnection", record: Record) -> int:
    """Makes the temporary table `suspects` of the key hashes that stand more than once; how many there are."""
    table, key = rows_table(record), f"hash({quoted(*record.key)})"
    (n_rows,) = one_row(
        connection,
        "SELECT coalesce(sum(rows_read), 0) FROM loads WHERE record = ? AND replaced_in IS NULL",
        [record.name],
    )
    n_slices = 1 + int(n_rows) // _MOST_HASHES
    found = []
    for number in range(n_slices):
        in_slice = f"AND {key} % {n_slices} = {number}" if n_slices > 1 else ""
        hashes = connection.sql(f"SELECT {key} AS h FROM {table} WHERE {LIVE} AND state = {CURRENT} {in_slice}").pl()[
            "h"
        ]
        if hashes.n_unique() < len(hashes):
            hashes = hashes.sort()
            found.append(hashes.filter(hashes == hashes.shift(1)).unique())
    suspects = pl.DataFrame({"h": pl.concat(found) if found else pl.Series([], dtype=pl.UInt64)})
    with_frame(connection, suspects, "CREATE OR REPLACE TEMP TABLE suspects AS FROM incoming")
    return suspects.height


def _settled(record: Record) -> str:
    """The temporary table `settled`: id (rowid) and state of every row under a suspect key.

    k and c are the smallest rowid with the same key and with the same key and content: exact, however hashes fall.
    """
    table, people = rows_table(record), PEOPLE_TABLES.get(record.name)
    content = [f'r."{column.name}"' for column in record.kept if column.name not in record.key]
    content += [f'p."{column.name}"' for column in record.personal]
    personal = f'LEFT JOIN {people} AS p ON p.load = r.load AND p."row" = r."row"' if people else ""
    r_key = ", ".join(f'r."{name}"' for name in record.key)
    return f"""
        CREATE OR REPLACE TEMP TABLE settled AS
        WITH suspect_rows AS (
            SELECT r.rowid AS id, l."version" AS v, r.load, r."row",
                min(r.rowid) OVER (PARTITION BY {r_key}) AS k,
                min(r.rowid) OVER (PARTITION BY {", ".join([r_key, *content])}) AS c
            FROM {table} AS r JOIN loads AS l ON l.load = r.load {personal}
            WHERE l.replaced_in IS NULL AND r."row" IS NOT NULL AND r.state = {CURRENT}
                AND hash({r_key}) IN (SELECT h FROM suspects)
        ),
        delivered AS (
            SELECT k, v, min(c) AS c, min(c) <> max(c) AS is_contradictory FROM suspect_rows GROUP BY k, v
        ),
        changes AS (
            SELECT k, v, c IS DISTINCT FROM lag(c) OVER (PARTITION BY k ORDER BY v) AS is_change
            FROM delivered WHERE NOT is_contradictory
        ),
        latest AS (SELECT k, max(v) AS v FROM changes WHERE is_change GROUP BY k)
        SELECT s.id, CASE
            WHEN d.is_contradictory THEN {CONTRADICTS}
            WHEN NOT coalesce(h.is_change, false) THEN {REPEAT}
            WHEN row_number() OVER (PARTITION BY s.k, s.v ORDER BY s.load, s."row") > 1 THEN {REPEAT}
            WHEN t.v > s.v THEN {SUPERSEDED}
            ELSE {CURRENT} END AS state
        FROM suspect_rows AS s
        JOIN delivered AS d ON d.k = s.k AND d.v = s.v
        LEFT JOIN changes AS h ON h.k = s.k AND h.v = s.v
        LEFT JOIN latest AS t ON t.k = s.k
    """

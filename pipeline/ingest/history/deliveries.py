"""Rows under one key: repeats, rows that contradict each other, rows that a later delivery supersedes.

An empty cell says nothing. A row that leaves empty what another of its key says repeats it, and what it says itself is
added to the row that counts (see lending): a door that stands in the register and on its own form is one door.

A delivery is everything newly read in one run. The states follow from the rows alone, so they are settled anew
whenever a load came or went; a cheap test finds the keys that stand more than once, and only those are looked at.
"""

from typing import TYPE_CHECKING

import polars as pl

from pipeline.ingest.history.lending import lend, take_back
from pipeline.ingest.history.segments import all_rows
from pipeline.ingest.history.store import (
    BY_DELIVERY,
    CONTRADICTS,
    CURRENT,
    PEOPLE_TABLES,
    REPEAT,
    SUPERSEDED,
    UNFIT,
    one_row,
    quoted,
    with_frame,
)
from pipeline.ingest.records import Record

if TYPE_CHECKING:
    import duckdb

# Hashes looked at together: 8 bytes each.
_MOST_HASHES = 16_000_000


def settle(connection: "duckdb.DuckDBPyConnection", record: Record) -> None:
    """Marks every row in force that can count but does not: superseded, repeat or contradicts."""
    of_record = f"load IN (SELECT load FROM loads WHERE record = '{record.name}')"
    connection.execute(f"DELETE FROM marks WHERE {of_record} AND state IN {BY_DELIVERY}")
    take_back(connection, record)
    fit = _fit_rows(connection, record, of_record)
    if _find_suspects(connection, record, fit):
        connection.execute(f"CREATE OR REPLACE TEMP TABLE settled AS {_settled(record, fit)}")
        connection.execute(f'INSERT INTO marks SELECT load, "row", state FROM settled WHERE state <> {CURRENT}')
        lend(connection, record)


def _fit_rows(connection: "duckdb.DuckDBPyConnection", record: Record, of_record: str) -> str:
    """SQL of the rows that can count, as `r`."""
    rows = f"{all_rows(record)} AS r"
    if not one_row(connection, f"SELECT count(*) FROM marks WHERE {of_record} AND state IN {UNFIT}")[0]:
        return rows
    unfit = f'SELECT load, "row" FROM marks WHERE {of_record} AND state IN {UNFIT}'
    return f'{rows} ANTI JOIN ({unfit}) AS u ON u.load = r.load AND u."row" = r."row"'


def _find_suspects(connection: "duckdb.DuckDBPyConnection", record: Record, fit: str) -> int:
    """Makes the temporary table `suspects` of the key hashes that stand more than once; how many there are."""
    key = f"hash({quoted(*record.key)})"
    kept = "SELECT coalesce(sum(rows_kept), 0) FROM loads WHERE record = ? AND replaced_in IS NULL"
    n_slices = 1 + int(one_row(connection, kept, [record.name])[0]) // _MOST_HASHES
    found = []
    for number in range(n_slices):
        in_slice = f"WHERE {key} % {n_slices} = {number}" if n_slices > 1 else ""
        hashes = connection.sql(f"SELECT {key} AS h FROM {fit} {in_slice}").pl()["h"]
        if hashes.n_unique() < len(hashes):
            hashes = hashes.sort()
            found.append(hashes.filter(hashes == hashes.shift(1)).unique())
    suspects = pl.DataFrame({"h": pl.concat(found) if found else pl.Series([], dtype=pl.UInt64)})
    with_frame(connection, suspects, "CREATE OR REPLACE TEMP TABLE suspects AS FROM incoming")
    return suspects.height


def _settled(record: Record, fit: str) -> str:
    """SELECT of load, row, k, v, state and the cells of every row under a suspect key.

    k numbers the rows with the same key: exact, however hashes fall. The fullest row of a delivery speaks for it, if no
    other says something else.
    """
    return f"""
        WITH suspect_rows AS ({_suspect_rows(record, fit)}),
        {_numbered(record)},
        followed AS (
            SELECT k, v, texts, lag(texts) OVER before AS last_texts
            FROM delivered WHERE NOT is_contradictory WINDOW before AS (PARTITION BY k ORDER BY v)
        ),
        changes AS (
            SELECT k, v, last_texts IS NULL OR len(list_filter(
                list_zip(texts, last_texts), lambda pair: pair[1] IS NOT NULL AND pair[1] IS DISTINCT FROM pair[2]
            )) > 0 AS is_change
            FROM followed
        ),
        latest AS (SELECT k, max(v) AS v FROM changes WHERE is_change GROUP BY k)
        SELECT s.*, CASE
            WHEN d.is_contradictory THEN {CONTRADICTS}
            WHEN NOT coalesce(h.is_change, false) THEN {REPEAT}
            WHEN row_number() OVER (PARTITION BY s.k, s.v ORDER BY s.filled DESC, s.load, s."row") > 1 THEN {REPEAT}
            WHEN t.v > s.v THEN {SUPERSEDED}
            ELSE {CURRENT} END AS state
        FROM numbered AS s
        JOIN delivered AS d ON d.k = s.k AND d.v = s.v
        LEFT JOIN changes AS h ON h.k = s.k AND h.v = s.v
        LEFT JOIN latest AS t ON t.k = s.k
    """


def _suspect_rows(record: Record, fit: str) -> str:
    """The rows under suspect hashes with their personal cells and the version of their load as v."""
    people, personal = PEOPLE_TABLES.get(record.name), "".join(f", p.{column.name}" for column in record.personal)
    joined = f'LEFT JOIN {people} AS p ON p.load = r.load AND p."row" = r."row"' if people else ""
    hashed = ", ".join(f'r."{name}"' for name in record.key)
    return f"""
        SELECT r.*, l."version" AS v {personal}
        FROM (SELECT r.* FROM {fit}) AS r JOIN loads AS l ON l.load = r.load {joined}
        WHERE hash({hashed}) IN (SELECT h FROM suspects)
    """


def _numbered(record: Record) -> str:
    """Two parts of a WITH: numbered, the rows with how much they say; delivered, what each delivery says of a key."""
    content = [f'"{column.name}"' for column in record.kept if column.name not in record.key]
    content += [f'"{column.name}"' for column in record.personal]
    key = _plain(", ".join(record.key_terms))
    filled = " + ".join(f"CASE WHEN {name} IS NULL THEN 0 ELSE 1 END" for name in content)
    differs = " OR ".join(f"count(DISTINCT {name}) > 1" for name in content)
    texts = ", ".join(f"max(CAST({name} AS VARCHAR))" for name in content)
    return f"""
        numbered AS (
            SELECT load, "row", v, dense_rank() OVER (ORDER BY {key}) AS k,
                {filled} AS filled, {", ".join(content)}
            FROM suspect_rows
        ),
        delivered AS (
            SELECT k, v, [{texts}] AS texts, ({differs}) AS is_contradictory
            FROM numbered GROUP BY k, v
        )
    """


def _plain(names: str) -> str:
    return names.replace("r.", "")

"""Erases persons from a copy of records.duckdb and people.duckdb: cells become marks, links and coded notes stay."""

from typing import TYPE_CHECKING

import polars as pl

from pipeline.forget.persons import Person, Row
from pipeline.forget.texts import Texts, clear_texts
from pipeline.ingest.coding import keep_as_read, learning_of
from pipeline.ingest.history.store import PEOPLE_TABLES, quoted, with_frame
from pipeline.ingest.landing.erased import NOTE, PERSON, ROW, Erasures, identities
from pipeline.ingest.landing.erased_texts import plain
from pipeline.ingest.linking.tables import inputs_of, keep_as_linked, lay_out_links, pin_links
from pipeline.ingest.records import record_named

if TYPE_CHECKING:
    import duckdb

# Large files, and records of measurements: no column of theirs takes what was written for another.
_NO_PERSONS = "(_load_[0-9]+|^readings_rows|^checks_rows)$"
_NAMES_OF_OTHERS = """
    SELECT DISTINCT unnest([install_id, job_no, crew]) FROM installs
    UNION SELECT crew FROM crews
    UNION SELECT unnest([callback_id, job_no]) FROM callbacks
"""
_CALLED_IN = """
    SELECT m.callback_id FROM callback_matches AS m
    JOIN callbacks AS c USING (callback_id)
    LEFT JOIN job_numbers AS j ON j.job_no = c.job_no
    WHERE m.callback_id IN (SELECT id FROM incoming WHERE kind = 'callback')
        OR j.job_key IN (
            SELECT d.job_key FROM installs AS i JOIN job_numbers AS d ON d.job_no = i.job_no
            WHERE i.install_id IN (SELECT id FROM incoming WHERE kind = 'door'))
    ORDER BY ALL
"""


def rows_to_erase(rows: list[Row], persons: list[Person]) -> list[Row]:
    """Every row of their doors and callbacks, whoever's name it bears."""
    keys = {("installs", door) for one in persons for door in one.doors}
    keys |= {("callbacks", callback) for one in persons for callback in one.callback_ids}
    return [row for row in rows if (row.record, row.key) in keys]


def notes_to_erase(rows: list[Row], persons: list[Person], erased: list[Row]) -> list[Row]:
    """Rows of others whose note names one of the persons in full."""
    names = {plain(row.customer) for one in persons for row in one.rows}
    full = [name for name in names if " " in name]
    others = set(rows) - set(erased)
    return sorted(
        (row for row in others if row.note and any(f" {name} " in f" {plain(row.note)} " for name in full)),
        key=lambda row: (row.key, row.load, row.row),
    )


def texts_of(connection: "duckdb.DuckDBPyConnection", persons: list[Person], erased: list[Row]) -> Texts:
    """What stands in the personal cells of the rows; names only of the persons themselves.

    Without those that name a crew, door, job or callback as well: there they are no mistake.
    """
    others = {plain(text) for (text,) in connection.execute(_NAMES_OF_OTHERS).fetchall()}
    theirs = {row for one in persons for row in one.rows}
    names = {plain(text) for row in theirs for text in (row.customer, row.address)}
    rest = {plain(text) for row in erased for text in (row.postcode, row.note)}
    return Texts(frozenset(names - others), frozenset(rest - others))


def erase(
    connection: "duckdb.DuckDBPyConnection", persons: list[Person], erased: list[Row], notes: list[Row], is_only: bool
) -> Texts:
    """Erases rows, and of others the notes; returns the texts that are to stand nowhere any more.

    connection  as `open_store` gives it, over a copy
    is_only     nobody else has the name, so that a row with the name alone is theirs
    """
    lay_out_links(connection)
    linked, learnt = inputs_of(connection), learning_of(connection)
    _pin(connection, persons)
    erasures = Erasures(connection)
    for row in erased:
        erasures.add(ROW, row.record, row.key)
    for row in notes:
        erasures.add(NOTE, row.record, row.key)
    for row in (row for one in persons for row in one.rows):
        for identity in identities({"customer": row.customer, "address": row.address, "postcode": row.postcode}):
            if identity[1] or is_only:
                erasures.add(PERSON, *identity)
    texts = texts_of(connection, persons, erased)
    for text in sorted(texts.alone):
        erasures.add_text(text, text in texts.telling)
    _blank(connection, erasures)
    keep_as_linked(connection, linked)
    keep_as_read(connection, learnt)
    clear_texts(connection, "records", texts, _NO_PERSONS)
    return texts


def _pin(connection: "duckdb.DuckDBPyConnection", persons: list[Person]) -> None:
    """Keeps what names have decided: the links of the callbacks, and where a name spoke against a job number."""
    ids = [("callback", one) for person in persons for one in person.callback_ids]
    ids += [("door", one) for person in persons for one in person.doors]
    connection.register("incoming", pl.DataFrame(ids, schema={"kind": pl.String, "id": pl.String}, orient="row"))
    found = [callback for (callback,) in connection.execute(_CALLED_IN).fetchall()]
    connection.unregister("incoming")
    pin_links(connection, found)


def _blank(connection: "duckdb.DuckDBPyConnection", erasures: Erasures) -> None:
    for name, table in PEOPLE_TABLES.items():
        record = record_named(name)
        columns = [column.name for column in record.personal]
        rows = connection.sql(f'SELECT load, "row", {quoted(record.key[0], *columns)} FROM {table} ORDER BY ALL').pl()
        cells = ", ".join(f'"{column}" = i."{column}"' for column in columns)
        with_frame(
            connection,
            erasures.blanked(record, rows),
            f'UPDATE {table} AS p SET {cells} FROM incoming AS i WHERE i.load = p.load AND i."row" = p."row"',
        )

"""Doors, crews and words that are written in more than one way: which is meant, where only one can be.

Found anew on every run; the rows keep what was written, the views say what is meant.
"""

import re
import unicodedata
from typing import TYPE_CHECKING

import polars as pl

from pipeline.errors import few_of
from pipeline.ingest.history.segments import DOOR, all_rows, records_in_use, view_all_rows
from pipeline.ingest.history.store import one_row, with_frame
from pipeline.ingest.records import CREW_NO, HANGS_ON_CREW, INSTALLS, OPEN_WORDS, SPELT, Record
from pipeline.ingest.texts.doors_of_jobs import job_of
from pipeline.ingest.texts.words import without_decimals

if TYPE_CHECKING:
    import duckdb

_SHOWN = 3
_CALLED = {DOOR: "doors", "crew": "crews"}
# Doors of `installs` whose row is set aside, or may be.
_SET_ASIDE = f"""
    SELECT install_id FROM {all_rows(INSTALLS)}
    UNION SELECT p.door FROM problems AS p JOIN loads AS l ON l.load = p.load
    WHERE l.replaced_in IS NULL AND l.record = '{INSTALLS.name}' AND p.scope = 'row' AND p.door IS NOT NULL
"""


def find_crew_spellings(connection: "duckdb.DuckDBPyConnection") -> None:
    """Adds to `spellings` crews written otherwise than in `crews`, or by their number there; without that record, than
    most rows do.
    """
    in_use = [record for record in records_in_use(connection) if record in HANGS_ON_CREW]
    written = " UNION ALL ".join(f"SELECT crew FROM {all_rows(record)}" for record in in_use)
    crews = dict(connection.execute(f"SELECT crew, {CREW_NO} FROM crews").fetchall())
    _write(connection, "crew", _by_crews(connection, written, crews) if crews else _by_most(connection, written))


def _by_crews(connection: "duckdb.DuckDBPyConnection", written: str, crews: dict[str, str | None]) -> dict[str, str]:
    """Which crew is meant by the texts of a query: by its name, else by a number that is one crew's alone."""
    numbers = [number for number in crews.values() if number]
    named = {number: crew for crew, number in crews.items() if number and numbers.count(number) == 1}
    by_number = {number: number for number in named if number not in crews}
    by_number |= _by_known(connection, written, numbers)
    meant = {text: named[number] for text, number in by_number.items() if number in named and text not in crews}
    return meant | _by_known(connection, written, list(crews))


def find_word_spellings(connection: "duckdb.DuckDBPyConnection") -> None:
    """Adds to `spellings` words of `installs` written otherwise than in most rows."""
    for column in OPEN_WORDS:
        _write(connection, column, _by_most(connection, f"SELECT {column} FROM {all_rows(INSTALLS)}"))


def find_unknown_doors(connection: "duckdb.DuckDBPyConnection", record: Record) -> int:
    """Makes the temporary table `unknown_doors` of the doors that only rows of the record name; how many they are.

    A spreadsheet takes zeros off the front, a hand adds blanks and changes case (`written_key` says what does not
    count), and of a job with one door the job alone is written: doors written so go into `spellings`, and `all_rows` of
    the record names them as `installs` does. Where two doors of `installs` have one key, or are of one job, nothing is
    guessed; one that is set aside is a door too, and its rows wait.
    """
    connection.execute(
        "CREATE OR REPLACE TEMP TABLE unknown_doors AS "
        f"SELECT install_id FROM (SELECT DISTINCT install_id FROM {all_rows(record)}) "
        "WHERE install_id NOT IN (SELECT install_id FROM installs)"
    )
    (n_unknown,) = one_row(connection, "SELECT count(*) FROM unknown_doors")
    if not n_unknown:
        return 0
    doors = {door for (door,) in connection.execute("SELECT install_id FROM installs").fetchall()}
    aside = {door for (door,) in connection.execute(_SET_ASIDE).fetchall()} - doors
    found = _by_known(connection, "FROM unknown_doors", [*doors, *aside])
    found |= _by_jobs(connection, [*doors, *aside], set(found))
    meant = {written: door for written, door in found.items() if door in doors}
    if meant:
        _write(connection, DOOR, meant)
        connection.execute(
            f"DELETE FROM unknown_doors WHERE install_id IN (SELECT written FROM spellings WHERE \"column\" = '{DOOR}')"
        )
        view_all_rows(connection, record)
    return int(n_unknown) - len(meant)


def _by_known(connection: "duckdb.DuckDBPyConnection", written: str, known: list[str]) -> dict[str, str]:
    """What is meant by the texts of a query that are not known, where only one that is known has the key."""
    by_key: dict[str, list[str]] = {}
    for name in known:
        by_key.setdefault(written_key(name), []).append(name)
    by_key.pop("", None)  # signs alone name nothing
    texts = {text for (text,) in connection.execute(f"SELECT DISTINCT * FROM ({written})").fetchall() if text}
    found = {text: by_key.get(written_key(text), []) for text in sorted(texts.difference(known))}
    return {text: names[0] for text, names in found.items() if len(names) == 1}


def _by_jobs(connection: "duckdb.DuckDBPyConnection", known: list[str], but: set[str]) -> dict[str, str]:
    """By unknown door that is written as a job alone, that job's only door: C4114 for C4114/1."""
    keys = {written_key(name) for name in known}
    by_key: dict[str, set[str]] = {}
    for name in known:
        by_key.setdefault(written_key(job_of(name)), set()).add(name)
    by_key.pop("", None)
    texts = {text for (text,) in connection.execute("FROM unknown_doors").fetchall() if text} - but
    found = {text: by_key.get(key, set()) for text in sorted(texts) if (key := written_key(text)) not in keys}
    return {text: next(iter(names)) for text, names in found.items() if len(names) == 1}


def _by_most(connection: "duckdb.DuckDBPyConnection", written: str) -> dict[str, str]:
    """What is meant by the texts of a query that are not the commonest of their key."""
    counted = f"SELECT text, count(*) FROM ({written}) AS w(text) WHERE text <> '' GROUP BY text ORDER BY 2 DESC, 1"
    commonest: dict[str, str] = {}
    found = {}
    for text, _ in connection.execute(counted).fetchall():
        first = commonest.setdefault(written_key(text) or text, text)
        if text != first:
            found[text] = first
    return found


def _write(connection: "duckdb.DuckDBPyConnection", column: str, meant: dict[str, str]) -> None:
    if meant:
        frame = pl.DataFrame({"column": [column] * len(meant), "written": list(meant), "meant": list(meant.values())})
        with_frame(connection, frame, "INSERT INTO spellings FROM incoming EXCEPT FROM spellings")


def written_key(text: str) -> str:
    """What tells one number or name from another: its letters and digits in order, without case and leading zeros.

    >>> written_key("D-0012/a "), written_key("d12A"), written_key("D-1-2")
    ('d 12 a', 'd 12 a', 'd 1 2')
    """
    plain = without_decimals(unicodedata.normalize("NFKC", text).strip().casefold())
    parts = re.findall(r"[^\W\d_]+|\d+", plain)
    return " ".join(part.lstrip("0") or "0" if part.isdecimal() else part for part in parts)


def spelling_notes(connection: "duckdb.DuckDBPyConnection", are_crews_named: bool = True) -> list[str]:
    """What the run did with what is written in several ways, a sentence for doors, crews and words; none for none.

    are_crews_named  crews may be told by what they are written as; else nothing is said of them
    """
    found: dict[str, list[tuple[str, str]]] = {}
    for column, written, meant in connection.execute("FROM spellings ORDER BY ALL").fetchall():
        found.setdefault(column, []).append((written, meant))
    if not are_crews_named:
        found.pop("crew", None)
    return [_note(_CALLED.get(column, f"words of {column}"), found[column]) for column in SPELT if column in found]


def _note(what: str, spellings: list[tuple[str, str]]) -> str:
    examples = few_of([f"{written} as {meant}" for written, meant in spellings], _SHOWN)
    return f"{what.capitalize()} written in more than one way are taken as one: {examples}."

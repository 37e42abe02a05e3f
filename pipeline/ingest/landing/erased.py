"""Keeps erased people erased: what was erased is known by short keyed hashes only, and blanked again as it lands.

A blanked cell holds a mark instead of its text, so that cells which were alike stay alike and cells which differed stay
different: what repeats or contradicts what does not change. The mark of three digits tells nothing of the text.
"""

import hashlib
import hmac
import secrets
from functools import cached_property
from typing import TYPE_CHECKING

import polars as pl

from pipeline.ingest.bulk.typed import BULKY
from pipeline.ingest.history.store import ERASED
from pipeline.ingest.landing.erased_texts import TextRule, in_json, plain
from pipeline.ingest.mending.ledger import Texts
from pipeline.ingest.records import TEXT as FREE
from pipeline.ingest.records import Record

if TYPE_CHECKING:
    import duckdb

_MARK_DIGITS, _PRINT_DIGITS = 3, 12

# What is erased by a print of its kind: all personal cells of a row by its key, its note alone, every row of a person
# at a place, a text that is all another cell says, a text wherever it stands (and of how many words those are).
ROW, NOTE, PERSON, TEXT, TELLING, LENGTH = "row", "note", "person", "text", "telling", "length"


class Erasures:
    """What has been erased from an output folder. Reads it once; `add` takes in more."""

    def __init__(self, connection: "duckdb.DuckDBPyConnection") -> None:
        self._connection = connection
        found = connection.execute("SELECT kind, print FROM people.erased").fetchall()
        self._prints = set(found)
        self._salt = next((print_ for kind, print_ in found if kind == "salt"), "")

    def __bool__(self) -> bool:
        return bool(self._salt)

    def add(self, kind: str, *parts: str) -> None:
        """Erases what is of this kind, from now on."""
        if not self._salt:
            self._salt = secrets.token_hex(16)
            self._keep(("salt", self._salt))
        self._keep((kind, self._print(kind, *parts)))

    def add_text(self, text: str, goes_anywhere: bool) -> None:
        """Erases a text, as it is compared, where it is all that a cell set aside says, or wherever it stands."""
        self.add(TEXT, text)
        if goes_anywhere:
            self.add(TELLING, text)
            self._keep((LENGTH, str(text.count(" ") + 1)))

    def has(self, kind: str, *parts: str) -> bool:
        """Whether it is erased."""
        return (kind, self._print(kind, *parts)) in self._prints

    def mark(self, column: str, text: str) -> str:
        """What stands for an erased cell; a mark stays as it is."""
        return text if text.startswith(ERASED) else f"{ERASED}{self._hash(column, text)[:_MARK_DIGITS]}"

    def blanked(self, record: Record, rows: pl.DataFrame) -> pl.DataFrame:
        """Rows of a record with the personal cells of the erased as marks."""
        if not self or not record.personal or rows.is_empty():
            return rows
        names = [column.name for column in record.personal]
        cells = rows.select(record.key[0], *names).rows()
        blank = [self._blanked(record, row[0], dict(zip(names, row[1:], strict=True))) for row in cells]
        return rows.with_columns(pl.Series(name, [one[name] for one in blank], dtype=pl.String) for name in names)

    def misplaced(self, record: Record, rows: pl.DataFrame) -> pl.DataFrame:
        """Judged rows without the erased texts that stand in other columns than their own."""
        if not self or record in BULKY:  # no column of those takes what was written for another
            return rows
        for name in (column.name for column in record.kept if column.kind == FREE):
            rows = rows.with_columns(self._cleared(rows[name], is_as_written=False))
        raw = {text: in_json(text, self._rule) for text in rows["raw"].unique().drop_nulls()}
        return rows.with_columns(pl.col("raw").replace(raw)) if raw else rows

    def scrubbed(self, problems: pl.DataFrame) -> pl.DataFrame:
        """Problems without the erased texts that they quote."""
        if not self or problems.is_empty():
            return problems
        return problems.with_columns(self._cleared(problems[name], is_as_written=True) for name in ("value", "reason"))

    def texts(self, cells: Texts) -> Texts:
        """What a row says, by column, without the erased texts."""
        return {name: self._rule.without(text, is_as_written=True) for name, text in cells.items()} if self else cells

    @cached_property
    def _rule(self) -> TextRule:
        lengths = tuple(int(print_) for kind, print_ in self._prints if kind == LENGTH)
        return TextRule(lambda text: self.has(TEXT, text), lambda text: self.has(TELLING, text), lengths)

    def _cleared(self, cells: pl.Series, is_as_written: bool) -> pl.Series:
        clean = {text: self._rule.without(text, is_as_written) for text in cells.unique().drop_nulls()}
        changed = {text: left for text, left in clean.items() if text != left}
        return cells.replace(changed) if changed else cells

    def _blanked(self, record: Record, key: str, cells: dict[str, str | None]) -> dict[str, str | None]:
        if self.has(ROW, record.name, key) or any(self.has(PERSON, *one) for one in identities(cells)):
            return {name: self.mark(name, text) if text else None for name, text in cells.items()}
        note = cells.get("note")
        if note and self.has(NOTE, record.name, key):
            return {**cells, "note": self.mark("note", note)}
        return cells

    def _keep(self, one: tuple[str, str]) -> None:
        if one not in self._prints:
            self._prints.add(one)
            self._connection.execute("INSERT INTO people.erased VALUES (?, ?)", list(one))

    def _print(self, kind: str, *parts: str) -> str:
        return self._hash(kind, *parts)[:_PRINT_DIGITS]

    def _hash(self, *parts: str) -> str:
        return hmac.new(self._salt.encode(), "\0".join(parts).encode(), hashlib.sha256).hexdigest()


def identities(cells: dict[str, str | None]) -> list[tuple[str, str]]:
    """(name, place) by which a person's rows are known: by postcode and by address; by the name alone without both."""
    name = plain(cells.get("customer"))
    places = [plain(cells.get("postcode")).replace(" ", ""), plain(cells.get("address"))]
    return [(name, place) for place in places if place] or [(name, "")] if name else []

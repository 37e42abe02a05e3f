"""Judges rows of text: which are taken in, which cells are left empty, which rows are set aside and why.

One authority for every form of file and every path: rows that a faster path is sure of never come here, all others do.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

import polars as pl

from pipeline.catalogue import Catalogue
from pipeline.ingest.judging.cell_units import UNIT_SAID
from pipeline.ingest.judging.cells import as_written, cell_of, judged, problem_of, rule_of, text_of
from pipeline.ingest.judging.evidence import Evidence
from pipeline.ingest.judging.instruments import convert_errors
from pipeline.ingest.judging.leaf_widths import settle_widths
from pipeline.ingest.judging.readings import WRITTEN_COLUMNS, convert_values
from pipeline.ingest.judging.years import settle_years
from pipeline.ingest.records import DAY, INSTALLS, INSTRUMENTS, NUMBER, READINGS, WHOLE, Column, Record
from pipeline.ingest.texts.manners import Manners
from pipeline.ingest.texts.meanings import word_meanings
from pipeline.ingest.texts.units import Units
from pipeline.ingest.texts.words import WordList, word_lists

PROBLEMS = {
    "row": pl.Int64,
    "column": pl.String,
    "value": pl.String,
    "reason": pl.String,
    "scope": pl.String,
    "door": pl.String,
}
EMPTY = "this must not be empty; fill it in"
# In a sheet of the firm's own the cell with the number is told, for it may have no column of units.
_NO_UNIT = "this names no unit, nor does anything beside it; write it behind the number"
_BY_MAPPING = "as the mapping in fitback.toml says"
_PLAIN_NUMBER = r"^[+-]?[0-9_.]+([eE][+-]?[0-9_]+)?$"


@dataclass(frozen=True)
class Judged:
    """rows: row, the record's columns typed (readings: written_value, written_unit), raw (JSON of changed cells).

    problems: one line per row set aside (scope row) or cell left empty (scope cell), columns PROBLEMS; door is the
    row's install_id where the record has one.
    """

    rows: pl.DataFrame
    problems: pl.DataFrame


class Judge:
    """Judges text frames of one record by the words, units and customs of a catalogue.

    last_day  the last day on which anything can have happened; today where it is not known
    """

    def __init__(self, record: Record, catalogue: Catalogue, last_day: date | None = None) -> None:
        self.record = record
        self.catalogue = catalogue
        self.units = Units(catalogue)
        meanings = word_meanings(catalogue)
        spellings = catalogue.customs.words
        self.lists = {
            name: WordList(name, words, meanings.get(name), spellings) for name, words in word_lists(catalogue).items()
        }
        self.last_day = last_day or date.today()

    def evidence(self) -> Evidence:
        """What to gather the evidence of a sheet with, before its parts are judged."""
        return Evidence(self.record, self.catalogue.customs, self.last_day)

    def __call__(self, frame: pl.DataFrame, manners: Manners | None = None) -> Judged:
        """Judges a frame of `row` and text columns; a column of the record that is missing counts as empty.

        manners  how the columns of its sheet are written; by the frame's own evidence where they are not given
        """
        if manners is None:
            evidence = self.evidence()
            evidence.add(frame)
            manners = evidence.manners()
        frame = self._typed(frame, manners)
        is_out = pl.any_horizontal(pl.col(problem_of(name)).is_not_null() for name in self.record.required)
        kept = frame.filter(~is_out)
        problems = pl.concat([self._rows_set_aside(frame.filter(is_out)), self._cells_left_empty(kept)])
        return Judged(self._rows(kept), problems)

    def _typed(self, frame: pl.DataFrame, manners: Manners) -> pl.DataFrame:
        names = [column.name for column in self.record.columns]
        missing = [pl.lit(None, pl.String).alias(name) for name in names if name not in frame.columns]
        cells = [cell_of(column.name) for column in self.record.kept if cell_of(column.name) in frame.columns]
        frame = frame.with_columns(missing).select("row", *names, *cells)
        frame = judged(frame, self.record.columns, self.lists, manners)
        frame = settle_years(frame, self.record, manners, self.last_day)
        if self.record is READINGS:
            frame = convert_values(frame, self.units, self.catalogue, manners)
        if self.record is INSTALLS:
            frame = settle_widths(frame, manners)
        if self.record is INSTRUMENTS:
            frame = convert_errors(frame, self.units, manners.units.get("max_error"))
        return frame.with_columns(
            self._with_empty(name, cell_of("value") in frame.columns) for name in self.record.required
        )

    def _with_empty(self, name: str, is_mapped: bool) -> pl.Expr:
        """The problem of a required cell, that of being empty included.

        is_mapped  the rows are made of a sheet of the firm's own
        """
        problem, is_empty = pl.col(problem_of(name)), pl.col(text_of(name)).is_null()
        if self.record is not READINGS or name not in ("unit", "value"):
            return pl.when(is_empty).then(pl.lit(EMPTY)).otherwise(problem).alias(problem_of(name))
        hint, lacks_unit = pl.col("unit hint").fill_null(""), pl.col(UNIT_SAID).is_null()
        has_number = pl.col(text_of("value")).is_not_null() & pl.lit(is_mapped)
        if name == "value":
            told = pl.coalesce(problem, pl.when(lacks_unit & has_number).then(pl.concat_str(pl.lit(_NO_UNIT), hint)))
            return pl.when(is_empty).then(pl.lit(EMPTY)).otherwise(told).alias(problem_of(name))
        empty = pl.concat_str(pl.lit(EMPTY), hint)
        return pl.when(lacks_unit & ~has_number).then(empty).otherwise(problem).alias(problem_of(name))

    def _rows_set_aside(self, out: pl.DataFrame) -> pl.DataFrame:
        """One line a row: its first bad required cell; the reason names the other bad required cells."""
        lines = pl.concat([self._lines(out, name, "row") for name in self.record.required])
        other = pl.concat_str(pl.lit("; "), pl.col("column"), pl.lit(": "), pl.col("reason")).slice(1)
        first = lines.group_by("row", maintain_order=True).agg(
            pl.col("column", "value", "scope", "door").first(),
            pl.concat_str(pl.col("reason").first(), other.str.join("")).alias("reason"),
        )
        return first.select(*PROBLEMS)

    def _cells_left_empty(self, kept: pl.DataFrame) -> pl.DataFrame:
        optional = [column.name for column in self.record.columns if not column.is_required]
        return pl.concat([pl.DataFrame(schema=PROBLEMS), *(self._lines(kept, name, "cell") for name in optional)])

    def _lines(self, frame: pl.DataFrame, name: str, scope: str) -> pl.DataFrame:
        has_door = any(column.name == "install_id" for column in self.record.columns)
        return frame.filter(pl.col(problem_of(name)).is_not_null()).select(
            "row",
            pl.lit(name).alias("column"),
            pl.col(text_of(name)).alias("value"),
            pl.col(problem_of(name)).alias("reason"),
            pl.lit(scope).alias("scope"),
            (pl.col("install_id") if has_door else pl.lit(None, pl.String)).alias("door"),
        )

    def _rows(self, kept: pl.DataFrame) -> pl.DataFrame:
        changed = [text for column in self.record.kept for text in self._said(column, kept)]
        written = WRITTEN_COLUMNS if self.record is READINGS else ()
        names = [column.name for column in self.record.columns]
        return kept.select("row", *names, *written, _as_json(changed).alias("raw"))

    def _said(self, column: Column, kept: pl.DataFrame) -> Iterator[pl.Expr]:
        """A cell's text where its canonical form says something else, and how it was read; null where it is plain.

        The text is what a person wrote, not what a mapping made of it.
        """
        changed, rule, cell = self._changed(column), _rule(column), cell_of(column.name)
        if cell in kept.columns:
            written = as_written(cell)
            is_made = written.is_not_null() & (written != pl.col(text_of(column.name)))
            changed = pl.when(is_made).then(written).otherwise(changed).alias(column.name)
            rule = pl.coalesce(rule, pl.when(is_made).then(pl.lit(_BY_MAPPING))).alias(f"{column.name} rule")
        yield changed
        yield rule

    def _changed(self, column: Column) -> pl.Expr:
        """The text of a cell whose canonical form says something else; null where text and form agree."""
        text, value = pl.col(text_of(column.name)), pl.col(column.name)
        if column.kind in (NUMBER, WHOLE):
            # what a unit did to a plain number stands in written_value and written_unit; instruments have none
            is_same = value.is_not_null() & text.str.contains(_PLAIN_NUMBER)
        elif column.kind == DAY:
            is_same = value.is_not_null()
        else:
            is_same = text == value
        if self.record is READINGS and column.name == "unit":
            is_same = text == pl.coalesce("written_unit", "unit")
        if self.record is READINGS and column.name == "value":
            is_same = text.str.contains(_PLAIN_NUMBER)
        if self.record is INSTRUMENTS and column.name == "max_error":
            is_same = value == text.cast(pl.Float64, strict=False)
        is_same = is_same & pl.col(rule_of(column.name)).is_null()
        return pl.when(is_same.fill_null(False)).then(None).otherwise(text).alias(column.name)


def _rule(column: Column) -> pl.Expr:
    """How a cell was read, beside its text; null where the text is plain or was not taken."""
    is_taken = pl.col(column.name).is_not_null() | (pl.lit(column.name == "value"))
    return pl.when(is_taken).then(pl.col(rule_of(column.name))).alias(f"{column.name} rule")


def _as_json(changed: list[pl.Expr]) -> pl.Expr:
    """The non-null texts as one JSON object; null where there is none."""
    pairs = [
        pl.when(text.is_not_null()).then(
            # one field encoded as {"name":"text"}, then its braces taken off
            pl.struct(text).struct.json_encode().str.slice(1).str.head(-1)
        )
        for text in changed
    ]
    joined = pl.concat_str(pairs, separator=",", ignore_nulls=True)
    return pl.when(joined != "").then(pl.concat_str(pl.lit("{"), joined, pl.lit("}")))

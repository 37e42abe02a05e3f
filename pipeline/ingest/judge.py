"""Judges rows of text: which are taken in, which cells are left empty, which rows are set aside and why.

One authority for every form of file and every path: rows that a faster path is sure of never come here, all others do.
"""

from dataclasses import dataclass

import polars as pl

from pipeline.catalogue import Catalogue
from pipeline.ingest.cells import judged, problem_of, text_of
from pipeline.ingest.instruments import convert_errors
from pipeline.ingest.meanings import word_meanings
from pipeline.ingest.readings import WRITTEN_COLUMNS, convert_values
from pipeline.ingest.records import DAY, INSTRUMENTS, NUMBER, READINGS, WHOLE, Column, Record
from pipeline.ingest.units import Units
from pipeline.ingest.words import WordList, word_lists

PROBLEMS = {
    "row": pl.Int64,
    "column": pl.String,
    "value": pl.String,
    "reason": pl.String,
    "scope": pl.String,
    "door": pl.String,
}
EMPTY = "this must not be empty"
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
    """Judges text frames of one record by the words and units of a catalogue."""

    def __init__(self, record: Record, catalogue: Catalogue) -> None:
        self.record = record
        self.catalogue = catalogue
        self.units = Units(catalogue)
        meanings = word_meanings(catalogue)
        self.lists = {name: WordList(name, words, meanings.get(name)) for name, words in word_lists(catalogue).items()}

    def __call__(self, frame: pl.DataFrame) -> Judged:
        """Judges a frame of `row` and text columns; a column of the record that is missing counts as empty."""
        frame = self._typed(frame)
        is_out = pl.any_horizontal(pl.col(problem_of(name)).is_not_null() for name in self.record.required)
        kept = frame.filter(~is_out)
        problems = pl.concat([self._rows_set_aside(frame.filter(is_out)), self._cells_left_empty(kept)])
        return Judged(self._rows(kept), problems)

    def _typed(self, frame: pl.DataFrame) -> pl.DataFrame:
        names = [column.name for column in self.record.columns]
        missing = [pl.lit(None, pl.String).alias(name) for name in names if name not in frame.columns]
        frame = frame.with_columns(missing).select("row", *names)
        for column in self.record.columns:
            frame = judged(frame, column, self.lists)
        if self.record is READINGS:
            frame = convert_values(frame, self.units, self.catalogue)
        if self.record is INSTRUMENTS:
            frame = convert_errors(frame, self.units)
        return frame.with_columns(
            pl.when(pl.col(text_of(name)).is_null())
            .then(pl.lit(EMPTY))
            .otherwise(pl.col(problem_of(name)))
            .alias(problem_of(name))
            for name in self.record.required
        )

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
        changed = [self._changed(column) for column in self.record.kept]
        written = WRITTEN_COLUMNS if self.record is READINGS else ()
        names = [column.name for column in self.record.columns]
        return kept.select("row", *names, *written, _as_json(changed).alias("raw"))

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
        return pl.when(is_same.fill_null(False)).then(None).otherwise(text).alias(column.name)


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

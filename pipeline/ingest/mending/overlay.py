"""Lays corrections over the rows of a file while they are read, before anything is judged.

A correction holds while the file says in its row what it said when the row was corrected. A row that stands elsewhere
now, in the same words and once, is followed. Where the file came with the row changed, or without it, the file counts.
"""

from collections.abc import Callable
from dataclasses import replace

import polars as pl

from pipeline.books import unguarded
from pipeline.ingest.files.sheets import Part
from pipeline.ingest.judging.cells import BLANKS, as_written, cell_of, typed_number
from pipeline.ingest.mending.ledger import Correction, Texts
from pipeline.ingest.records import Record

# Under what a row says that could not be split into the columns of its header: its print, by which it is known again.
_MISFIT = ""


class Overlay:
    """The corrections of one record of one file, gone through part by part.

    sources  by number of a correction that was laid over its row: what the file says there
    moved    by number of a correction whose row stands elsewhere now: the key of that row
    cleared  takes out of what a row says what has been erased since, as it was taken out of the ledger
    """

    def __init__(
        self,
        record: Record,
        corrections: list[Correction],
        content_hash: str,
        cleared: Callable[[Texts], Texts] = lambda texts: texts,
    ) -> None:
        self._cleared = cleared
        self._record = record
        self._content_hash = content_hash
        self._numbers = {one.number for one in corrections}
        self._rows: dict[str | None, dict[int, list[Correction]]] = {}
        for one in corrections:
            self._rows.setdefault(one.place.sheet, {}).setdefault(one.place.key, []).append(one)
        self.sources: dict[int, Texts] = {}
        self.moved: dict[int, int] = {}

    @property
    def keys(self) -> set[int]:
        """Keys of the rows that are corrected, in all sheets."""
        return {key for rows in self._rows.values() for key in rows}

    @property
    def overtaken(self) -> set[int]:
        """Numbers of the corrections that found no row that says what it said, once all parts were gone through."""
        return self._numbers - set(self.sources)

    def over(self, sheet: str | None, part: Part) -> Part:
        """The part with its corrections; every part of a sheet that has any gets the columns they are in."""
        rows = self._rows.get(sheet)
        if not rows:
            return part
        frame = self._with_columns(part.rows, rows)
        said = {row: self.texts(cells) for row, cells in _cells_of(frame, list(rows))}
        misfits = {one.row: {_MISFIT: one.print} if one.print else {} for one in part.misfits if one.row in rows}
        said |= misfits
        followed = self._followed(frame, rows, said)
        self.moved |= {one.number: new for old, new in followed.items() for one in rows[old]}
        said |= {new: rows[old][0].source or {} for old, new in followed.items()}
        stayed = {row: ones for row, ones in rows.items() if row not in followed}
        rows = {**stayed, **{new: rows[old] for old, new in followed.items()}}
        mended = {row: self._held(rows[row], source) for row, source in said.items() if row in rows}
        mended = {row: cells for row, cells in mended.items() if cells}
        frame = _with_rows(frame, sorted(set(misfits) & set(mended)))
        for name in sorted({name for cells in mended.values() for name in cells}):
            texts = {row: cells[name] for row, cells in mended.items() if name in cells}
            told = pl.col("row").replace_strict(texts, default=pl.col(name), return_dtype=pl.String)
            frame = frame.with_columns(told.alias(name))
            if (cell := cell_of(name)) in frame.columns:
                # what a person corrected is no longer what was made of the cell
                frame = frame.with_columns(pl.when(~pl.col("row").is_in(list(texts))).then(cell).alias(cell))
        return replace(part, rows=frame, misfits=[one for one in part.misfits if one.row not in mended])

    def _followed(
        self, frame: pl.DataFrame, rows: dict[int, list[Correction]], said: dict[int, Texts]
    ) -> dict[int, int]:
        """By key of a row that is not there as it was: the key of the only other row that says what it said."""
        lost = {key: source for key, ones in rows.items() if (source := ones[0].source) and said.get(key) != source}
        names = [column.name for column in self._record.kept if column.name in frame.columns]
        lost = {key: source for key, source in lost.items() if set(source) <= set(names)}
        if not lost:
            return {}
        texts = {name: [source.get(name) for source in lost.values()] for name in names}
        schema = dict.fromkeys(names, pl.String)
        wanted = pl.DataFrame(texts, schema=schema).with_columns(pl.Series("old", list(lost), dtype=pl.Int64))
        plain = frame.select(pl.col("row").alias("new"), *(as_written(name) for name in names))
        found = plain.join(wanted, on=names, nulls_equal=True).select("old", "new")
        taken = [key for key, ones in rows.items() if key in said and ones[0].source == said[key]]
        alone = found.filter(pl.col("old").is_unique() & pl.col("new").is_unique() & ~pl.col("new").is_in(taken))
        return dict(alone.rows())

    def texts(self, cells: dict[str, str | None]) -> Texts:
        """What a row says, by column: no blanks around it, nothing empty, nothing personal."""
        names = [column.name for column in self._record.kept]
        plain = {name: plain_text(cells.get(name)) for name in names}
        return self._cleared({name: text for name, text in plain.items() if text})

    def _with_columns(self, frame: pl.DataFrame, rows: dict[int, list[Correction]]) -> pl.DataFrame:
        wanted = dict.fromkeys(one.column for ones in rows.values() for one in ones)
        missing = [pl.lit(None, pl.String).alias(name) for name in wanted if name not in frame.columns]
        return frame.with_columns(missing)

    def _held(self, corrections: list[Correction], source: Texts) -> dict[str, str | None]:
        """The corrected cells of a row that says `source`; those that do not hold any more are left out."""
        cells: dict[str, str | None] = {}
        for one in corrections:
            if self._holds(one, source):
                cells[one.column] = one.after
                self.sources[one.number] = source
        return cells

    def _holds(self, one: Correction, source: Texts) -> bool:
        if one.source:
            return one.source == source
        return one.content_hash == self._content_hash or _is_shown(one, source)


def plain_text(text: str | None) -> str:
    """A text as a person wrote it: no blanks around, no apostrophe of ours, no exponent of the reader's."""
    return typed_number(unguarded((text or "").strip(BLANKS)))


def _is_shown(one: Correction, source: Texts) -> bool:
    """Whether a row of a file that came changed meanwhile is the one that the line showed.

    What the row leaves empty may have been shown filled: from the catalogue, or from a heading.
    """
    is_same_row = all(_is_said(one.shown.get(name), text) for name, text in source.items())
    return bool(source) and is_same_row and _is_said(one.before, source.get(one.column))


def _is_said(before: str | None, text: str | None) -> bool:
    one, other = plain_text(before), plain_text(text)
    return one == other or (as_number(one) is not None and as_number(one) == as_number(other))


def as_number(text: str) -> float | None:
    """A plain number that a text is; None where it is none."""
    try:
        return float(text)
    except ValueError:
        return None


def _cells_of(frame: pl.DataFrame, rows: list[int]) -> list[tuple[int, dict[str, str | None]]]:
    found = frame.filter(pl.col("row").is_in(rows))
    return [(cells.pop("row"), cells) for cells in found.iter_rows(named=True)]


def _with_rows(frame: pl.DataFrame, rows: list[int]) -> pl.DataFrame:
    """The frame with further, empty rows, in the order of their numbers."""
    if not rows:
        return frame
    new = pl.DataFrame({"row": rows}, schema={"row": pl.Int64})
    return pl.concat([frame, new], how="diagonal").sort("row")

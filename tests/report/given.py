"""What a page was given: every number of the rows and tables that it asked for, their sums, counts and shares."""

import re
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import polars as pl

from pipeline.report import reading
from tests.report.intervals import NUMBER, reach

MOST_KINDS = 8  # kinds by which rows are counted: of evidence, role, decision ...
MOST_COUNTED = 60  # up to here rows of any list may be counted by what is said of them; a larger count has to be found


class Watched(reading.Results):
    """Results that remember what was asked of them."""

    def __init__(self, path: Path) -> None:
        """path: results.duckdb."""
        super().__init__(path)
        self.asked: list[list[dict[str, Any]]] = []

    def table(self, name: str) -> pl.DataFrame:
        """As the pages ask for it."""
        frame = super().table(name)
        self.asked.append(frame.rows(named=True))
        return frame

    def row_counts(self) -> dict[str, int]:
        """As the pages ask for it."""
        found = super().row_counts()
        self.asked.append([{"rows": number} for number in found.values()])
        return found

    def rows(self, query: str, whole: str, most: int) -> tuple[list[tuple[Any, ...]], int, int]:
        """As the pages ask for it."""
        found, shown, there = super().rows(query, whole, most)
        self.asked.append(
            [{"shown": shown, "there": there}, *({str(at): cell for at, cell in enumerate(row)} for row in found)]
        )
        return found, shown, there

    def _rows_of(self, query: str, values: dict[str, str] | None = None) -> list[dict[str, Any]]:
        found = super()._rows_of(query, values)
        self.asked.append(found)
        return found


def numbers_of(rows: list[dict[str, Any]]) -> Iterator[float]:
    """Every number of some rows: as it is, within a text, of a day its parts."""
    for row in rows:
        for value in row.values():
            if isinstance(value, bool) or value is None:
                continue
            if isinstance(value, int | float):
                yield float(value)
            elif isinstance(value, date):
                yield from (value.day, value.year)
            elif isinstance(value, str):
                yield from (float(found.replace(",", "").replace("−", "-")) for found in re.findall(NUMBER, value))


def sums_of(rows: list[dict[str, Any]]) -> Iterator[float]:
    """Sums of columns of counts, and counts of rows: of all, of those that agree in one or two names, of the rest."""
    if not rows:
        return
    frame = pl.DataFrame(rows, infer_schema_length=None).with_columns(all_rows=pl.lit(1, dtype=pl.Int64))
    counts = [name for name, kind in frame.schema.items() if kind.is_integer()]
    names = [name for name, kind in frame.schema.items() if kind in (pl.String, pl.Boolean)]
    few = [name for name in names if frame[name].n_unique() <= MOST_KINDS]
    whole = frame.select(pl.col(counts).sum())
    by = [(name,) for name in names] + [(one, other) for one in few for other in few if one < other]
    parts = [frame.group_by(group).agg(pl.col(counts).sum()).select(counts) for group in by]
    for found in (whole, *parts):
        yield from (float(cell) for row in found.rows() for cell in row if cell is not None)
    for part in parts:  # what the rest of them has
        left = part.select((whole[name][0] - pl.col(name)).alias(name) for name in counts)
        yield from (float(cell) for row in left.rows() for cell in row if cell is not None)
    yield from (float(frame[name].n_unique()) for name in names)


def missing_in(rows: list[dict[str, Any]]) -> Iterator[float]:
    """Doors that are still needed: so many as are said to be, less those there are, to two digits."""
    for row in rows:
        if row.get("doors_needed"):
            missing = row["doors_needed"] - row["doors"]
            yield float(round(missing, 2 - len(str(abs(missing)))))


def shares_of(rows: list[dict[str, Any]]) -> Iterator[float]:
    """Parts in a hundred that one count of a row is of another."""
    whole = [sum_row(rows), *rows] if rows else []
    for row in whole:
        counts = [float(value) for value in row.values() if isinstance(value, int) and not isinstance(value, bool)]
        yield from (100 * one / other for one in counts for other in counts if other and one <= other)


def sum_row(rows: list[dict[str, Any]]) -> dict[str, Any]:
    """The counts of all rows together."""
    keys = [key for key, value in rows[0].items() if isinstance(value, int) and not isinstance(value, bool)]
    return {key: sum(row[key] or 0 for row in rows) for key in keys}


class Given:
    """All numbers that a page may tell."""

    def __init__(self, asked: list[list[dict[str, Any]]], more: list[float]) -> None:
        """asked: the rows of each question that the page asked; more: what is declared beside."""
        plain = [value for rows in asked for part in (numbers_of, sums_of, missing_in) for value in part(rows)]
        lengths = [float(len(rows)) for rows in asked]
        self.values = np.unique(np.abs([*plain, *lengths, *more, *range(MOST_COUNTED + 1)]))
        self.hundredths = 100 * self.values[self.values <= 10]
        self.shares = np.unique([share for rows in asked for share in shares_of(rows)])

    def has(self, words: str, before: str = "", after: str = "") -> bool:
        """A number as written is one of them. before, after: the text around it, which tells money and shares."""
        low, high = reach(words)
        if _is_within(self.values, low, high) or _is_within(self.hundredths, low, high):
            return True
        if after.startswith(" %"):
            return _is_within(self.shares, low, high)
        # money is told to two digits, and much of it in thousands
        digits = len(words.replace(",", "").rstrip("0")) if "." not in words else 0
        half = 0.5 * 10 ** (len(words.replace(",", "")) - digits)
        scale = 1000 if after.startswith(" thousand") else 1
        value = float(words.replace(",", "").replace("−", "-"))
        is_money = before.endswith("EUR ") or scale > 1
        return is_money and _is_within(self.values, scale * (value - half), scale * (value + half))


def _is_within(values: np.ndarray, low: float, high: float) -> bool:
    least, most = (0.0, max(-low, high)) if low <= 0 <= high else sorted((abs(low), abs(high)))
    at = int(np.searchsorted(values, least))
    return at < len(values) and bool(values[at] <= most)

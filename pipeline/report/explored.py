"""The sums of the linked sheet as read from the results, the names in them, and both packed small for the page."""

from dataclasses import dataclass
from typing import Any

import polars as pl

from pipeline.report.numbers import capital, cut, cut_inside, natural
from pipeline.report.reading import Results
from pipeline.report.rows.table_rows import LEAST_DOOR_YEARS, LEAST_DOORS

MOST_NAME = 60  # signs of a name, so that a control fits a phone; the tables beside the pages have it in full
ELSE = "other "  # how explore_names calls what stands together


@dataclass(frozen=True)
class Explored:
    """The tables that the sheet carries, and the names that a cell of them is known by, in the order of the controls.

    size          door-years of each crew
    period_words  of each period: its name, and the two lines of it under a column, … behind one that is not complete
    waits         of each period: whether paper of it may still come
    pooled        how many names stand together as others, by dimension
    """

    time: pl.DataFrame
    called: pl.DataFrame
    steps: pl.DataFrame
    intervals: pl.DataFrame
    names: dict[str, tuple[str, ...]]
    fault_words: tuple[str, ...]
    period_words: tuple[tuple[str, tuple[str, str]], ...]
    waits: tuple[bool, ...]
    pooled: dict[str, int]

    @property
    def is_empty(self) -> bool:
        """No door was watched, and none has anything recorded."""
        return self.time.is_empty() and self.steps.is_empty()

    def words(self, dimension: str) -> list[str]:
        """The names as a page shows them, each unlike the others."""
        if dimension == "fault":
            return [capital(words) for words in self.fault_words]
        if dimension == "period":
            return [name for name, _ in self.period_words]
        return [cut_inside(name, MOST_NAME) for name in self.names[dimension]]


def read_explored(results: Results) -> Explored:
    """Everything that the linked sheet carries."""
    time, steps = results.table("explore_time"), results.table("explore_steps")
    called, known = results.table("explore_faults"), results.table("explore_names")
    periods = results.table("explore_periods").sort("starts_on")
    crews, products = (_in_order(set(time[name]) | set(steps[name])) for name in ("crew", "product"))
    words = dict(results.table("catalogue_faults").select("name", "words").iter_rows())
    faults = sorted(set(called["fault"]), key=lambda name: (name.startswith(ELSE), _fault_words(name, words)))
    work = results.table("catalogue_deviations").select("step", "step_order").unique().sort("step_order")["step"]
    others = known.filter(pl.col("name") != pl.col("label")).group_by("dimension").len().sort("dimension")
    return Explored(
        time, called, steps, results.table("count_intervals").sort("callbacks"),
        {"crew": crews, "product": products, "period": tuple(periods["period"]), "fault": tuple(faults),
         "step": tuple(work)},
        tuple(_fault_words(name, words) for name in faults),
        tuple(_period_words(*row) for row in periods.select("period", "is_complete").iter_rows()),
        tuple(not is_complete for is_complete in periods["is_complete"]),
        dict(others.iter_rows()),
    )  # fmt: skip


def cells(explored: Explored, views: tuple[str, ...], has_log: bool) -> dict[str, Any]:
    """All that the page's script reads, for JSON."""
    sizes = dict(explored.time.group_by("crew").agg(pl.col("door_years").sum()).iter_rows())
    packed_time = _packed(explored, explored.time, {"door_years": "years", "callbacks": "callbacks"})
    return {
        "views": list(views),
        "has_log": has_log,
        "least_doors": LEAST_DOORS,
        "least_years": LEAST_DOOR_YEARS,
        "crews": [{"name": name} for name in explored.words("crew")],
        "products": [{"name": name} for name in explored.words("product")],
        "periods": [
            {"name": name, "label": " ".join(short), "short": list(short), "waits": waits}
            for (name, short), waits in zip(explored.period_words, explored.waits, strict=True)
        ],
        "faults": [{"name": capital(words), "words": words} for words in explored.fault_words],
        "work": list(explored.names["step"]),
        "size": [round(sizes.get(name, 0.0), 3) for name in explored.names["crew"]],
        "time": packed_time,
        "called": _packed(explored, explored.called, {"callbacks": "callbacks"}, "fault"),
        "steps": _packed(explored, explored.steps, {"doors": "doors", "doors_out": "out"}, "step"),
        "intervals": {end: explored.intervals[end].round(4).to_list() for end in ("low", "high")},
    }


def _packed(explored: Explored, frame: pl.DataFrame, kept: dict[str, str], inner: str = "") -> dict[str, list[Any]]:
    """Columns by cell, in the cells' order; a cell is its place among all, told as the step from the one before."""
    if frame.is_empty():  # then there may be no name to know a cell by
        return {"cells": []} | {name: [] for name in kept.values()}
    cell = pl.lit(0, dtype=pl.Int64)
    for column in filter(None, ("crew", "product", "period", inner)):
        known = explored.names[column]
        place = pl.col(column).replace_strict(list(known), list(range(len(known))), return_dtype=pl.Int64)
        cell = cell * len(known) + place
    ordered = frame.with_columns(cell.alias("cell")).sort("cell")
    steps = ordered.select(pl.col("cell").diff().fill_null(pl.col("cell")))["cell"]
    return {"cells": steps.to_list()} | {name: ordered[column].round(4).to_list() for column, name in kept.items()}


def _in_order(names: set[str]) -> tuple[str, ...]:
    return tuple(sorted(names, key=lambda name: (name.startswith(ELSE), natural(name))))


def _fault_words(name: str, words: dict[str, str | None]) -> str:
    return cut(words.get(name) or name.replace("_", " "), MOST_NAME)


def _period_words(period: str, is_complete: bool) -> tuple[str, tuple[str, str]]:
    """`Q3 2024` or `before Q3 2022`, and the same in two lines; … behind one whose paper is not all in."""
    year, quarter = period.removeprefix("before ").split("-")
    if period.startswith("before"):
        return f"before {quarter} {year}", ("before", f"{quarter} {year}")
    return f"{quarter} {year}", (quarter, year if is_complete else f"{year} …")

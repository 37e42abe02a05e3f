"""Pages of firms drawn at random, put together without a database or a drawing."""

from collections.abc import Iterator
from contextlib import contextmanager
from importlib import import_module
from pkgutil import iter_modules
from typing import Any
from unittest.mock import patch

import polars as pl
from markupsafe import Markup

from pipeline.report import pages, reading
from pipeline.report import sheets as sheets_package
from pipeline.report.drawing.drawn import Drawing
from pipeline.report.rows.table_rows import Tally
from pipeline.report.rows.watch_rows import WatchedThing
from pipeline.report.sheet import Sheet, TitleBlock
from pipeline.report.sheets.crew_sheet import CrewSheet, crew_sheets
from tests.report.random_rows import RandomRows


class RandomFirm(RandomRows, reading.Results):
    """Random rows where the pages look for the results of a firm."""

    has_codes = False

    def table(self, name: str) -> pl.DataFrame:
        """Nothing to save: the file is another test's."""
        return pl.DataFrame(schema=dict.fromkeys(("crew", "step_order", "month"), pl.String))

    def set_aside_frame(self) -> pl.DataFrame:
        """Nothing."""
        return self.table("set_aside")

    def corrections_frame(self) -> pl.DataFrame:
        """Nothing."""
        return self.table("corrections")

    def row_counts(self) -> dict[str, int]:
        """None known."""
        return {}

    def crews(self) -> list[str]:
        """The crews that watch something."""
        return sorted({row.crew for row in self.of(WatchedThing)})

    def _typed(self, kind: type, query: str, values: dict[str, str] | None = None) -> list[Any]:
        return self.tallies.get(query, []) if kind is Tally else list(self.of(kind))


@contextmanager
def no_drawings() -> Iterator[None]:
    """Pages are put together without their drawings, which take a thousand times as long as their words."""
    modules = [
        import_module(f"{sheets_package.__name__}.{found.name}") for found in iter_modules(sheets_package.__path__)
    ]
    blank = Drawing(Markup(), Markup())
    patches = [patch.object(module, "draw", lambda *_: blank) for module in modules if hasattr(module, "draw")]
    patches.append(patch("pipeline.report.sheets.crew_sheet.draw_limit", lambda *_: Markup()))
    for one in patches:
        one.start()
    try:
        yield
    finally:
        for one in patches:
            one.stop()


def sheets_of(firm: RandomFirm) -> list[Sheet]:
    """The answering pages of a firm; the linked sheet and the list of tables tell no row."""
    whose, block = firm.firm(), TitleBlock("Invented", "30 June 2026", "a run")
    return [make(firm, whose, block) for make in pages.MAKERS if make.__name__ not in ("explore_sheet", "tables_sheet")]


def crew_sheets_of(firm: RandomFirm) -> list[CrewSheet]:
    """The crews' own sheets."""
    return crew_sheets(firm)

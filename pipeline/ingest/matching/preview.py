"""The first rows as they would be taken in: a table on a terminal, plain lines elsewhere."""

import re
from dataclasses import dataclass
from io import StringIO

import polars as pl

from pipeline.catalogue import Catalogue
from pipeline.ingest.judging.judge import Judge
from pipeline.ingest.matching.sheet.found import Found
from pipeline.ingest.matching.sheet.rows import mapped_rows
from pipeline.ingest.records import record_named

SHOWN_ROWS = 5
_PERSONAL = "(kept apart)"
_MOST_REASONS = 3
# What a reason says of the one cell.
_CELL = re.compile(r"'[^']*'|\d+")
# What a table puts round every cell, and the longest text of a row that lies on its side.
_PADDING, _LONGEST = 3, 30


@dataclass(frozen=True)
class Preview:
    """One record of one sheet: how many rows, how many would be set aside, and the first ones by column."""

    record: str
    n_rows: int
    n_aside: int
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    reasons: tuple[str, ...]


def preview(
    found: Found, catalogue: Catalogue, year: int | None = None, days: frozenset[str] = frozenset()
) -> list[Preview]:
    """What a sheet gives under its mapping, record by record, judged as a run would.

    year  the one that its names say; days: those of all sheets of the file
    """
    previews = []
    for record_map in found.sheet_map.records:
        made = mapped_rows(found, record_map, catalogue)
        record = record_named(record_map.record)
        judge = Judge(record, catalogue)
        evidence = judge.evidence()
        evidence.add(made.rows)
        judged = judge(made.rows, evidence.manners(made.units, made.turned, year, lambda: days))
        aside = judged.problems.filter(pl.col("scope") == "row")
        names = [column.name for column in record.columns if column.name in made.rows.columns]
        shown = _spread(judged.rows, names)
        personal = {column.name for column in record.personal}
        rows = tuple(
            tuple(_PERSONAL if name in personal and cell is not None else _text(cell) for name, cell in row.items())
            for row in shown.rows(named=True)
        )
        reasons = _of_each_kind(aside["reason"].value_counts(sort=True)["reason"].to_list())[:_MOST_REASONS]
        previews.append(Preview(record.name, made.rows.height, aside.height, tuple(names), rows, reasons))
    return previews


def _of_each_kind(reasons: list[str]) -> tuple[str, ...]:
    """The first of the reasons that say the same of other days, numbers or words."""
    kinds: dict[str, str] = {}
    for reason in reasons:
        kinds.setdefault(_CELL.sub("", reason), reason)
    return tuple(kinds.values())


def lines_of(one: Preview, width: int | None) -> list[str]:
    """The preview as lines to print. width: of the terminal; None where there is none."""
    told = f"{one.record}: {one.n_rows:,} {'row' if one.n_rows == 1 else 'rows'}"
    told += f", {one.n_aside:,} of them set aside ({'; '.join(one.reasons)})" if one.n_aside else ""
    return [told, *(_plain(one) if width is None else _table(one, width))]


def _spread(rows: pl.DataFrame, names: list[str]) -> pl.DataFrame:
    """The first rows, of different measures or checks where there are several."""
    kind = next((name for name in ("measure", "check") if name in names), None)
    first = rows if kind is None else rows.unique(subset=[kind], keep="first", maintain_order=True)
    return first.head(SHOWN_ROWS).select(names)


def _text(cell: object) -> str:
    if cell is None:
        return ""
    text = f"{cell:g}" if isinstance(cell, float) else " ".join(str(cell).split())
    return "".join(filter(str.isprintable, text))


def _plain(one: Preview) -> list[str]:
    widths = _widths([one.columns, *one.rows])
    return [_line(row, widths) for row in [one.columns, *one.rows]]


def _line(row: tuple[str, ...], widths: list[int]) -> str:
    return f"  {'  '.join(text.ljust(width) for text, width in zip(row, widths, strict=True)).rstrip()}"


def _widths(rows: list[tuple[str, ...]]) -> list[int]:
    return [max(map(len, texts)) for texts in zip(*rows, strict=True)]


def _table(one: Preview, width: int) -> list[str]:
    """The rows as a table where it fits the terminal, else on their side, with as many of them as fit."""
    from rich.box import SIMPLE_HEAD
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    needed = sum(wide + _PADDING for wide in _widths([one.columns, *one.rows]))
    if needed > width:
        return _on_its_side(one, width)
    table = Table(box=SIMPLE_HEAD, show_edge=False)
    for name in one.columns:
        table.add_column(Text(name))
    for row in one.rows:
        table.add_row(*map(Text, row))
    console = Console(file=StringIO(), width=needed)
    with console.capture() as captured:
        console.print(table)
    return [line.rstrip() for line in captured.get().splitlines()]


def _on_its_side(one: Preview, width: int) -> list[str]:
    """A line for every column: its name, and what the first rows have there."""
    columns = [one.columns, *(tuple(text[:_LONGEST] for text in row) for row in one.rows)]
    while len(columns) > 2 and sum(wide + 2 for wide in _widths(list(zip(*columns, strict=True)))) > width:
        columns.pop()
    rows = list(zip(*columns, strict=True))
    widths = _widths(rows)
    return [_line(row, widths)[:width] for row in rows]

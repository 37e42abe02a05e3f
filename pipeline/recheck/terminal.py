"""The recheck list on a terminal: as wide as it is, everything wrapped, nothing cut."""

import sys
from collections.abc import Iterator
from typing import Literal

from rich import box
from rich.console import Console, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from pipeline.errors import visible
from pipeline.recheck.listing import (
    MOST_DOORS,
    MOST_FAULTS,
    DoorRisk,
    Look,
    RecheckList,
    chance_words,
    others_of,
    percent,
    worth,
)
from pipeline.report.numbers import capital
from pipeline.report.words.common import crew_name
from pipeline.terminal import shows_colour


def show(listing: RecheckList) -> None:
    """Prints the list on standard output."""
    # without a colour system nothing is set bold either, as NO_COLOR asks
    colours: Literal["auto"] | None = "auto" if shows_colour(sys.stdout) else None
    console = Console(highlight=False, markup=False, emoji=False, color_system=colours)
    for part in _parts(listing):
        console.print(part, soft_wrap=False)


def _parts(listing: RecheckList) -> Iterator[RenderableType]:
    yield from listing.notes
    if listing.rows:
        yield Text(f"\n{listing.look_heading}", style="bold")
        if listing.looks:
            yield _looks(listing)
        yield from listing.looks_left
        yield Text(f"\n{listing.door_heading}", style="bold")
        yield _doors(listing)
        yield from listing.doors_left
    for sentence in listing.ending:
        yield Padding(sentence, (1, 0, 0, 0))


def _table() -> Table:
    return Table(box=box.SIMPLE_HEAD, pad_edge=False, padding=(0, 1, 0, 0), expand=True)


def _looks(listing: RecheckList) -> Table:
    table = _table()
    table.add_column("", justify="right", no_wrap=True)
    table.add_column("door", overflow="fold", max_width=16)
    table.add_column("look again", ratio=1, overflow="fold")
    table.add_column("minutes", justify="right", no_wrap=True)
    table.add_column("callbacks\navoided on\n100 doors", justify="right", no_wrap=True)
    for n, look in listing.first_looks:
        door = Text.assemble((visible(look.first["install_id"]), "bold"), "\n", crew_name(look.first["crew"]))
        table.add_row(f"{n}", door, _what(listing, look), f"{look.first['minutes']:.0f}", worth(look))
        table.add_row()
    return table


def _what(listing: RecheckList, look: Look) -> Text:
    against = f"Against {listing.against(look)}."
    return Text.assemble(capital(look.because), "\n", (look.do, "bold"), "\n", against)


def _doors(listing: RecheckList) -> Table:
    table = _table()
    table.add_column("door, fault and what raises it", ratio=1, overflow="fold")
    table.add_column("chance", no_wrap=True)
    table.add_column("times\nusual", justify="right", no_wrap=True)
    table.add_column("first\ncallbacks", justify="right", no_wrap=True)
    table.add_column("doors", justify="right", no_wrap=True)
    for door in listing.doors[:MOST_DOORS]:
        _add_door(table, listing, door)
    return table


def _add_door(table: Table, listing: RecheckList, door: DoorRisk) -> None:
    table.add_row(Text(visible(f"{door.name}, {door.crew}"), style="bold"), Text(percent(door.chance), style="bold"))
    for row in door.rows[:MOST_FAULTS]:
        fault = Padding(f"{listing.fault(row)}: {row['because']}", (0, 0, 0, 2))
        numbers = (f"{row['risk_ratio']:.1f}", f"{row['events']:,}", f"{row['doors']:,}")
        table.add_row(fault, chance_words(row), *numbers)
    if others := others_of(door):
        table.add_row(Padding(f"{others.count} together", (0, 0, 0, 2)), percent(others.chance))
    table.add_row()

"""A door's sheet: its headline, drawings, life and tables put together, and rendered to one self-contained page."""

from dataclasses import dataclass
from typing import Any

from pipeline.door import captions, tables
from pipeline.door.drawings.causes import Shares
from pipeline.door.drawings.frame import from_first
from pipeline.door.drawings.scale import slips_of
from pipeline.door.drawings.views import View, causes_view, fixings_view, frame_view, leaves_view, life_view
from pipeline.door.geometry import Points
from pipeline.door.leaves import leaves_of
from pipeline.door.life import Event, events_of
from pipeline.door.limits import judged_of
from pipeline.door.people import PERSONAL, People, notes_listing
from pipeline.door.places import read_of
from pipeline.door.trail import DoorTrail
from pipeline.door.watch import watch
from pipeline.door.words import came_back, headline, lead, shown_id, standing_of, warning
from pipeline.report.numbers import as_name, day, listed
from pipeline.report.sheet import Block, Figure
from pipeline.report.templating import page_from
from pipeline.report.words.common import ASSOCIATION, DEFER, SITE_WORK


@dataclass(frozen=True)
class DoorSheet:
    """One door's page as data. do: what to watch; came_back, views: what the file says and draws as well."""

    door: str
    crew: str
    firm: str
    records_to: str
    run: str
    headline: str
    do: str
    came_back: str
    warning: str
    lead: tuple[str, ...]
    blocks: tuple[Block, ...]
    cautions: tuple[str, ...]
    views: tuple[View, ...]


@dataclass(frozen=True)
class Views:
    """The drawings that there is something for."""

    frame: View | None
    leaves: View | None
    fixings: View | None
    life: View | None
    causes: View | None
    slips: tuple[str, ...]
    sill: Points  # heights over the left-hand reading, as the frame is drawn by

    @property
    def missing(self) -> list[str]:
        """What could not be drawn, in words."""
        names = {
            "frame": "the frame, for want of the door's size", "leaves": "the leaves and their gaps",
            "fixings": "fixings and packers",
        }  # fmt: skip
        missing = [words for name, words in names.items() if getattr(self, name) is None]
        far = f"{listed(list(self.slips))}, whose readings lie too far apart to be anything but a slip"
        return [*missing, far] if self.slips else missing

    @property
    def drawn(self) -> tuple[View, ...]:
        """Those that the drawing for the file holds."""
        return tuple(view for view in (self.frame, self.leaves, self.fixings, self.life) if view)


def sheet_of(trail: DoorTrail, people: People | None = None) -> DoorSheet:
    """Everything that stands on the page of a door. people: where its customer and notes are asked for as well."""
    facts, standing, events = trail.facts, standing_of(trail), events_of(trail)
    calls = captions.shares_of(trail, events)
    views, came = _views(trail, events, calls), came_back(trail, events)
    return DoorSheet(
        shown_id(trail), as_name(facts["crew"]), as_name(facts["firm"]) or "not named", day(facts["as_of"]),
        facts["run"] or "", headline(trail, standing), watch(trail, standing), came, warning(trail),
        (*([people.whose, PERSONAL] if people else []), *lead(trail, standing, came)),
        tuple(_blocks(trail, events, calls, views, people)), (ASSOCIATION, DEFER, SITE_WORK), views.drawn,
    )  # fmt: skip


def _views(trail: DoorTrail, events: tuple[Event, ...], calls: tuple[Shares, ...]) -> Views:
    facts = trail.facts
    read = read_of(trail.readings, facts["width_mm"], facts["height_mm"])
    judged = judged_of(trail.limits, trail.deviations)
    drop = next((row["value"] for row in trail.deviations if row["deviation"] == "leaf_drop"), None)
    return Views(
        frame_view(facts, read, judged), leaves_view(read, judged, leaves_of(read, facts["leaves"]), drop),
        fixings_view(read, judged), life_view(facts, events) if events else None,
        causes_view(captions.with_causes(calls)), tuple(slips_of(read)), from_first(read.line("sill_height")),
    )  # fmt: skip


def _blocks(
    trail: DoorTrail, events: tuple[Event, ...], calls: tuple[Shares, ...], views: Views, people: People | None
) -> list[Block]:
    found: list[Any] = [*_measured(trail, views)]
    if views.life:
        found.append(_figure(views.life, captions.life_says(events), captions.LIFE_HOW))
    found += [tables.life_listing(trail, events), notes_listing(events, people) if people else None]
    if views.causes:
        says, how = captions.causes_says(trail, calls), captions.causes_how(calls)
        found.append(_figure(views.causes, says, how, captions.causes_do(trail)))
    found += [
        tables.causes_table(trail, events), tables.limits_table(trail), tables.deviations_table(trail),
        tables.readings_table(trail),
        tables.checks_table(trail), tables.not_recorded(trail, views.missing),
    ]  # fmt: skip
    return [block for block in found if block is not None]


def _measured(trail: DoorTrail, views: Views) -> list[Figure]:
    """The drawings of what was measured."""
    parts = (
        (views.frame, captions.FRAME, "The frame", captions.frame_how(trail, views.sill), ("frame",)),
        (views.leaves, captions.LEAVES, "The leaves", captions.LEAVES_HOW, ("hanging", "glazing")),
        (views.fixings, captions.FIXINGS, "Fixings", captions.FIXINGS_HOW, ("sill",)),
    )
    return [
        _figure(view, captions.says(trail, names, subject), how, captions.to_do(trail, names, steps))
        for view, names, subject, how, steps in parts
        if view
    ]


def _figure(view: View, says: str, how: str, do: str = "") -> Figure:
    return Figure(view.key, says, how, view.drawing(says), do)


def render(sheet: DoorSheet) -> str:
    """The page as HTML: style and drawings inside, no script, no address outside."""
    return page_from("pipeline.door", "door", sheet=sheet)

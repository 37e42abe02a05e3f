"""The door's life as a line in time: what was done to it below the line, the calls about it above."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date

from pipeline.door.drawings import pen
from pipeline.door.life import Event
from pipeline.report.drawing.lettering import fitted
from pipeline.report.drawing.lettering import width as lettering_width
from pipeline.report.drawing.pencils import BLUE, GREY, INK, RED

MARGIN, STEP, BESIDE = 16, 17, 6  # px: beside the line; between two rows of words; from a stem to its words
MOST_ROWS = 12
SIGNS = {"episode": (RED, True), "repeat": (RED, False), "pre_handover": (BLUE, False), "outside": (GREY, False)}


@dataclass(frozen=True)
class Label:
    """Words over or under the line. x: px of the day; from_x, to_x: px that the words take; row: counted outwards."""

    x: float
    from_x: float
    to_x: float
    row: int
    text: str
    event: Event


def draw_life(events: tuple[Event, ...], watched: tuple[date, date, str] | None, width: float) -> tuple[str, float]:
    """The line as SVG, and the px down to its foot. watched: first and last day at risk, and how long that is."""
    first, last = events[0].on, max(event.on for event in events)
    days = max((last - first).days, 1)

    def x(on: date) -> float:
        return MARGIN + (on - first).days / days * (width - 2 * MARGIN)

    calls = _labels([event for event in events if event.is_call], x, width)
    own = _labels([event for event in events if not event.is_call], x, width)
    level = STEP * (max((label.row for label in calls), default=0) + 1) + 18
    parts = [pen.line((x(first), level), (x(last), level), INK, pen.THICK), *_years(first, last, x, level)]
    parts += [_stem(label, level) for label in (*calls, *own)]
    parts += [mark for label in calls for mark in _call(label, level)]
    parts += [pen.words((label.from_x, _own_row(label, level)), label.text, INK, "start") for label in own]
    foot = level + 34 + STEP * (max((label.row for label in own), default=0) + 1)
    if watched is not None and watched[1] > watched[0]:
        foot += STEP + 6
        start, end, said = x(max(watched[0], first)), x(watched[1]), f"watched for {watched[2]}"
        half = lettering_width(said) / 2
        middle = min(max((start + end) / 2, half), width - half)  # a short watch at an end keeps its words on the paper
        parts += [pen.dimension((start, foot), (end, foot), ""), pen.words((middle, foot - 5), said)]
    return "".join(parts), foot + 8


def _labels(events: list[Event], x: Callable[[date], float], width: float) -> list[Label]:
    """Each label on the nearest row on which it has room, else its ring alone.

    Words stand to the right of their day; the last comes first, so that the names before it pass over its stem. Those
    that would leave the paper get their letter first, and their words to the left, over the others, where that fits.
    """
    named = [(event, _said(event, x(event.on), width)) for event in events]
    placed: dict[int, Label] = {}
    for place, (event, text) in reversed(list(enumerate(named))):
        at = x(event.on)
        said = text if at + BESIDE + lettering_width(text) <= width else event.letter
        placed[place] = _place(event, said, at, list(placed.values())) or Label(at, at, at, 0, "", event)
    for place, (event, text) in enumerate(named):
        if placed[place].text != text:
            others = [label for other, label in placed.items() if other != place]
            placed[place] = _place(event, text, x(event.on), others, is_right=False) or placed[place]
    return list(placed.values())


def _said(event: Event, at: float, width: float) -> str:
    """Its words: whole where there is room for them to the right of their day, else cut to half of the paper."""
    said = f"{event.letter} {event.words}".strip()
    return said if at + BESIDE + lettering_width(said) <= width else fitted(said, width / 2)


def _place(event: Event, text: str, at: float, placed: list[Label], *, is_right: bool = True) -> Label | None:
    long = lettering_width(text)
    start = at + BESIDE if is_right else at - BESIDE - long
    if start < 0:
        return None
    for row in range(MOST_ROWS):
        label = Label(at, start, start + long, row, text, event)
        if not any(_collide(label, other) for other in placed):
            return label
    return None


def _collide(one: Label, other: Label) -> bool:
    """Their words overlap, or the stem of one runs through the words of the other."""
    if one.row == other.row and one.from_x < other.to_x + 10 and other.from_x < one.to_x + 10:
        return True
    low, high = (one, other) if one.row < other.row else (other, one)
    return low.from_x - 4 <= high.x <= low.to_x + 4 and low.row != high.row


def _stem(label: Label, level: float) -> str:
    if not label.event.is_call:
        return pen.line((label.x, level - 5), (label.x, _own_row(label, level)), INK)
    return pen.line((label.x, level), (label.x, _call_row(label, level)), SIGNS[label.event.kind][0])


def _call_row(label: Label, level: float) -> float:
    return level - 22 - STEP * label.row


def _own_row(label: Label, level: float) -> float:
    return level + 38 + STEP * label.row


def _call(label: Label, level: float) -> Iterator[str]:
    pencil, is_full = SIGNS[label.event.kind]
    yield pen.ring((label.x, level), 4.5, pencil, is_full)
    yield pen.words((label.from_x, _call_row(label, level) + 8), label.text, INK if is_full else GREY, "start")


def _years(first: date, last: date, x: Callable[[date], float], level: float) -> Iterator[str]:
    for year in range(first.year + 1, last.year + 1):
        at = x(date(year, 1, 1))
        yield pen.line((at, level), (at, level + 6), GREY)
        if at > MARGIN + 30:
            yield pen.words((at, level + 17), str(year), GREY)

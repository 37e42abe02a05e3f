"""What accounts for each callback, as dimension lines from 0 to 100 %: the share on it, its interval its length."""

from collections.abc import Iterator
from dataclasses import dataclass

from pipeline.door.drawings import pen
from pipeline.report.drawing import lettering
from pipeline.report.drawing.pencils import GREY, INK
from pipeline.report.numbers import percent

LINE, HEADING, NAME = 34, 30, 20  # px: a cause, a callback's name, a cause's name over its line
SECOND = 15  # px from a cause's name to what is said of it, where both do not fit in one line
NAMES = 320  # px for the names beside the lines, where they have room


@dataclass(frozen=True)
class Share:
    """One cause of one callback. shares of 1; is_recorded: on this door; None for what nothing accounts for.

    mark  what is said of it behind its name, and never cut
    """

    words: str
    mark: str
    share: float
    low: float
    high: float
    is_recorded: bool | None


@dataclass(frozen=True)
class Shares:
    """One callback and what accounts for it, most first."""

    name: str
    causes: tuple[Share, ...]


def draw_causes(calls: tuple[Shares, ...], width: float, is_narrow: bool) -> tuple[str, float]:
    """The lines as SVG, and the px down to their foot."""
    left, right = (4.0 if is_narrow else float(NAMES)), width - 16
    parts, top = [], 4.0
    for call in calls:
        parts.append(pen.words((0, top + 16), lettering.fitted(call.name, width - 4), INK, "start", is_bold=True))
        top += HEADING
        for cause in call.causes:
            names = _names(cause, right if is_narrow else left - 16)
            top += NAME + SECOND * (len(names) - 1) if is_narrow else 0
            parts += _cause(cause, names, left, right, top)
            top += LINE if is_narrow else LINE + SECOND * max(len(names) - 2, 0)
    parts += [pen.line((left, top), (right, top), GREY), *_scale(left, right, top)]
    return "".join(parts), top + 20


def _names(cause: Share, room: float) -> list[str]:
    """Its name and what is said of it: in one line where both fit, else under one another, in lines as needed."""
    if lettering.width(cause.words + cause.mark) <= room:
        return [cause.words + cause.mark]
    parts = (cause.words, cause.mark.removeprefix(", "))
    return [lettering.fitted(line, room) for part in parts if part for line in lettering.wrapped(part, room, None)]


def _cause(cause: Share, names: list[str], left: float, right: float, top: float) -> Iterator[str]:
    y, wide = top + 16, right - left
    low, middle, high = (left + wide * share for share in (cause.low, cause.share, cause.high))
    pencil = INK if cause.is_recorded else GREY
    foot = y + 4 + SECOND * (len(names) - 1) - SECOND / 2 * min(len(names) - 1, 1) if left >= NAMES else y - 22
    for up, name in enumerate(reversed(names)):
        yield pen.words((0.0, foot - SECOND * up), name, pencil, "start")
    ends = [(low, y), (high, y)]
    yield pen.path(ends, pencil, dash="broken" if cause.is_recorded is False else "")
    for x, _ in ends:
        yield pen.line((x - pen.STROKE, y + pen.STROKE), (x + pen.STROKE, y - pen.STROKE), pencil)
    yield pen.ring((middle, y), 4, pencil, is_full=cause.is_recorded is True)
    number = percent(cause.share)
    half = lettering.width(number) / 2
    yield pen.words((min(max(middle, left - 4 + half), right + 14 - half), y - 8), number, pencil)


def _scale(left: float, right: float, y: float) -> Iterator[str]:
    for share in (0.0, 0.25, 0.5, 0.75, 1.0):
        x = left + (right - left) * share
        yield pen.line((x, y), (x, y + 5), GREY)
        anchor = "start" if share == 0 else "end" if share == 1 else "middle"
        yield pen.words((x, y + 18), percent(share), GREY, anchor)

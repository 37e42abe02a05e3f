"""Every number on a door's sheet stands in a table of its trail, or is the difference of two readings there."""

import re
from collections.abc import Iterator
from datetime import date
from html import unescape
from itertools import combinations
from typing import Any

import pytest

from pipeline.door.captions import CAUSES_HOW, COLOURS, FIXINGS_HOW, FRAME_HOW, LEAVES_HOW, LIFE_HOW
from pipeline.door.drawings.scale import FACTORS
from pipeline.door.sheet import render, sheet_of
from pipeline.door.trail import DoorTrail
from pipeline.report.numbers import number, percent, plain
from pipeline.report.words.common import ASSOCIATION, DEFER, SITE_WORK
from pipeline.sheets.cautions import CAUTIONS
from tests.door.rows import call, cause, deviation, full, limit, line, trail

NUMBER = re.compile(r"\d{1,3}(?:,\d{3})+(?:\.\d+)?|\d+(?:\.\d+)?")
SAID = (CAUSES_HOW, COLOURS, FIXINGS_HOW, FRAME_HOW, LEAVES_HOW, LIFE_HOW, ASSOCIATION, DEFER, SITE_WORK)


def seen(page: str) -> Iterator[str]:
    """Numbers that a reader sees: of the text and of the drawings, not of marks and styles."""
    body = re.sub(r"<style>.*?</style>", " ", page, flags=re.DOTALL)
    yield from NUMBER.findall(unescape(re.sub(r"<[^>]+>", " ", body)))


def shown(value: float | int) -> set[str]:
    """The ways in which one number may be written."""
    ways = {number(abs(value), digits) for digits in range(4)} | {
        plain(abs(value)),
        plain(abs(round(value, 6))),
        plain(abs(value), 2),
    }
    ways |= {way.rstrip("0").rstrip(".") for way in ways if "." in way} | {plain(abs(value), 6)}
    ways |= {str(value)} if isinstance(value, int) else set()  # a row of a file
    return ways | {NUMBER.search(percent(value))[0] if 0 <= value <= 1 else "0"}  # type: ignore[index]


def values_of(told: Any) -> Iterator[float | str | date]:
    if isinstance(told, dict):
        for value in told.values():
            yield from values_of(value)
    elif isinstance(told, list):
        for value in told:
            yield from values_of(value)
    elif told is not None and not isinstance(told, bool):
        yield told


def allowed(trail: DoorTrail) -> set[str]:
    """Every number that the tables, the rules of counting and the fixed words know of this door."""
    found = {way for text in (*SAID, *CAUTIONS.values()) for way in NUMBER.findall(text)}
    for name in trail.__dataclass_fields__:
        rows = getattr(trail, name)
        found |= shown(len(rows))
        for value in values_of(rows):
            if isinstance(value, date):
                found |= {str(value.day), str(value.year)}
            else:
                found |= set(NUMBER.findall(value)) if isinstance(value, str) else shown(value)
    return found | drawn(trail) | counted(trail)


def drawn(trail: DoorTrail) -> set[str]:
    """Differences of readings of one measure and member; scale bars and factors; a fixing from the far corner."""
    by_line: dict[tuple[str, str], list[float]] = {}
    for row in trail.readings:
        if row["value"] is not None:
            by_line.setdefault((row["measure"], row["member"]), []).append(row["value"])
    found = {str(factor) for factor in FACTORS} | {"1", "2", "5", "10", "20", "50", "100", "25", "75", "0"}
    for (measure, _), values in by_line.items():
        for one, other in combinations(values, 2):
            found |= shown(one - other)
        if measure == "fixing":
            for length in (trail.facts["width_mm"], trail.facts["height_mm"]):
                found |= {way for value in values if length for way in shown(length - value)}
    return found


def counted(trail: DoorTrail) -> set[str]:
    """Counts of rows by what was decided of them, leaves by their number, years between two days of the trail."""
    found: set[str] = set()
    for rows, key in ((trail.limits, "decision"), (trail.readings, "state"), (trail.faults, "kind")):
        for one in {row[key] for row in rows}:
            found |= shown(sum(row[key] == one for row in rows))
    decided = sum(row["decision"] != "not recorded" for row in trail.limits)
    checks = [row for row in trail.deviations if row["how"] == "checks" and row["value"] is not None]
    found |= shown(decided) | shown(len(checks)) | shown(sum(row["value"] > 0 for row in checks))
    found |= {str(round(row["value"] * row["readings"])) for row in checks}
    found |= shown(sum(row["value"] is None for row in trail.readings))
    groups = dict.fromkeys(("frame", "hanging", "glazing", "sill"), 0)
    for row in trail.limits:
        if row["decision"] != "not recorded":
            groups[row["step"]] = groups.get(row["step"], 0) + 1
    sums = {sum(parts) for size in (1, 2, 3) for parts in combinations(groups.values(), size)}
    found |= {str(total) for total in range(max(sums, default=0) + 1)}  # limits held of one drawing
    for one in ("out", "undecided", "not recorded"):  # `a, b and 4 more`
        many = sum(row["decision"] == one for row in trail.limits)
        found |= {str(many - shown_first) for shown_first in (3, 5, 7) if many > shown_first}
    years = {value.year for value in values_of(trail.facts) if isinstance(value, date)}
    return found | {str(year) for year in range(min(years), max(years) + 1)} | {str(n) for n in range(1, 13)}


def unknown(trail: DoorTrail) -> list[str]:
    return sorted(set(seen(render(sheet_of(trail)))) - allowed(trail))


def invented() -> DoorTrail:
    row, faults = call("C1", date(2024, 3, 1), ("stiff_running", "episode"))
    return trail(
        readings=line("sill_height", "sill", {0: 100.0, 2000: 101.7, 4000: 104.3}),
        deviations=[deviation("sill_level_error", 4.3)],
        limits=[limit("sill_level_error", 4.3, 3.0, "out")],
        callbacks=[row], faults=faults,
        causes=[cause("C1", "sill_level_error", 0.61, 0.34, 0.82), cause("C1", "unexplained", 0.39, 0.18, 0.66,
                                                                        is_recorded=None, value=None)],
        effects=[{"fault": "stiff_running", "deviation": "sill_level_error", "doors": 932, "events": 49,
                  "words": "stiff running"}],
    )  # fmt: skip


def test_every_number_about_causes_is_in_the_tables() -> None:
    assert unknown(invented()) == []


@pytest.mark.parametrize("leaves", [1, 4, 7])
def test_every_number_on_a_fully_read_door_is_in_its_tables(leaves: int) -> None:
    assert unknown(full(leaves)) == []


@pytest.mark.parametrize("wrong", ["61.7", "933", "48"])
def test_a_number_that_is_in_no_table_is_found(wrong: str) -> None:
    assert wrong not in allowed(invented())

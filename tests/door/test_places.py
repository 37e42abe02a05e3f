"""What the drawings are made of: one number a place, settled as the tables settle it."""

from collections.abc import Iterator
from datetime import date
from typing import Any

import pytest

from pipeline.door.geometry import bow, far_apart, fitted_line, racking, without_packers
from pipeline.door.leaves import leaves_of, lowest_leaf
from pipeline.door.places import Read, read_of
from pipeline.door.trail import DoorTrail
from tests.door.rows import reading

EARLY, LATE = date(2024, 1, 9), date(2024, 1, 12)


def read(*rows: dict[str, Any]) -> Read:
    return read_of(list(rows), 4000.0, 2100.0)


def test_the_latest_day_counts_and_one_day_is_averaged() -> None:
    sill = [reading("sill_height", value, "sill", position_mm=100.0, read_on=on) for value, on in
            ((9.0, None), (5.0, EARLY), (2.0, LATE), (3.0, LATE))]  # fmt: skip
    assert read(*sill).line("sill_height") == ((100.0, 2.5),)


def test_what_does_not_count_and_what_has_no_number_is_not_drawn() -> None:
    later = reading("sill_height", 9.0, "sill", position_mm=0.0, state="after its time")
    fine = reading("sill_height", None, "sill", position_mm=0.0)
    assert read(later, fine).spots == {}


def test_places_in_words_are_parts_of_the_width_or_height() -> None:
    rows = [reading("sill_height", 1.0, "sill", station=station) for station in ("left", "Centre", "25%", "right")]
    assert [at for at, _ in read(*rows).line("sill_height")] == [0.0, 1000.0, 2000.0, 4000.0]
    jamb = [reading("jamb_edge", 1.0, "left_jamb", station=station) for station in ("top", "bottom", "middle")]
    assert [at for at, _ in read(*jamb).line("jamb_edge", "left_jamb")] == [0.0, 1050.0, 2100.0]
    assert read_of(rows, None, None).line("sill_height") == ()


def test_a_lean_against_a_plumb_line_implies_a_zero_at_its_foot() -> None:
    lean = reading("jamb_edge", 3.0, "left_jamb", position_mm=2000.0, written_value=1.5, written_unit="mm/m")
    line = fitted_line(read(lean).line("jamb_edge", "left_jamb"))
    assert line is not None
    assert line.rise == pytest.approx(3.0)


def test_fixings_without_numbers_are_the_places_they_are_at() -> None:
    rows = [reading("fixing", at, "head", read_on=on) for at, on in ((200.0, EARLY), (800.0, EARLY), (800.0, LATE))]
    assert sorted(spot.value for spot in read(*rows).of("fixing", "head")) == [200.0, 800.0]


def test_of_readings_that_name_no_place_the_latest_day_counts_whole() -> None:
    rows = [reading("frame_width", value, read_on=on) for value, on in ((1.0, EARLY), (2.0, LATE), (4.0, LATE))]
    assert sorted(spot.value for spot in read(*rows).of("frame_width")) == [2.0, 4.0]


def made_of_places(trail: DoorTrail) -> Iterator[tuple[str, float | None]]:
    """Deviations as they come of the places that are drawn."""
    facts = trail.facts
    found = read_of(trail.readings, facts["width_mm"], facts["height_mm"])
    sill, head = found.line("sill_height"), found.line("clear_height")
    line = fitted_line(sill)
    yield "sill_level_error", abs(line.rise) if line else None
    yield "sill_bow", bow(sill)
    yield "head_bow", bow(head)
    yield "head_parallel_error", max(v for _, v in head) - min(v for _, v in head) if len(head) > 1 else None
    jambs = [fitted_line(found.line(m, j)) for m in ("jamb_edge", "jamb_face") for j in ("left_jamb", "right_jamb")]
    yield "jamb_plumb_error", max((abs(jamb.rise) for jamb in jambs if jamb), default=None)
    rising, falling = (found.at("frame_diagonal", "", side) for side in ("rising", "falling"))
    widths = [spot.value for spot in found.of("frame_width")]
    if rising is not None and falling is not None:
        width = sum(widths) / len(widths) if widths else facts["width_mm"]
        yield "frame_racking", abs(racking(rising, falling, width))
    leaves = leaves_of(found, facts["leaves"])
    tapers = [abs(leaf.gaps.taper_under) for leaf in leaves if leaf.gaps.taper_under is not None]
    yield "gap_taper", max(tapers, default=None)
    yield "leaf_drop", max((drop for leaf in leaves if (drop := leaf.gaps.drop()) is not None), default=None)
    yield "leaf_diagonal_difference", max((leaf.out_of_square for leaf in leaves if leaf.out_of_square is not None),
                                          default=None)  # fmt: skip
    jambs_fixed = [(found.of("fixing", jamb), found.of("packer", jamb)) for jamb in ("left_jamb", "right_jamb")]
    fixed = [tuple(spot.value for spot in fixings) for fixings, _ in jambs_fixed]
    if any(fixed) and any(packers for _, packers in jambs_fixed):
        bare = [
            without_packers(at, tuple(spot.value for spot in packers))
            for at, (_, packers) in zip(fixed, jambs_fixed, strict=True)
        ]
        yield "unpackered_fixings", sum(map(len, bare)) / sum(map(len, fixed))


def test_the_drawings_and_the_tables_are_made_of_the_same_places(trails: dict[str, DoorTrail]) -> None:
    compared = 0
    for trail in trails.values():
        table = {row["deviation"]: row["value"] for row in trail.deviations}
        for name, value in made_of_places(trail):
            if name in table:
                assert value == pytest.approx(table[name], abs=1e-6), (trail.facts["install_id"], name)
                compared += 1
    assert compared > 100


def test_fixings_that_are_drawn_too_far_apart_are_those_that_the_table_calls_out(trails: dict[str, DoorTrail]) -> None:
    seen = set()
    for trail in trails.values():
        found = read_of(trail.readings, trail.facts["width_mm"], trail.facts["height_mm"])
        places = tuple(spot.value for spot in found.of("fixing", "sill"))
        for row in trail.limits:
            if row["deviation"] == "sill_fixing_spacing" and row["decision"] in ("out", "within"):
                assert bool(far_apart(places, row["upper_limit"])) == (row["decision"] == "out")
                seen.add(row["decision"])
    assert "within" in seen


def test_the_lowest_leaf_is_that_of_the_table(trails: dict[str, DoorTrail]) -> None:
    found = 0
    for trail in trails.values():
        read_here = read_of(trail.readings, trail.facts["width_mm"], trail.facts["height_mm"])
        drop = next((row["value"] for row in trail.deviations if row["deviation"] == "leaf_drop"), None)
        leaf = lowest_leaf(leaves_of(read_here, trail.facts["leaves"]), drop)
        assert (leaf is None) == (drop is None)
        found += leaf is not None
    assert found > 5

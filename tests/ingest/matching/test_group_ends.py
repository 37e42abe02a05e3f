"""Names of groups of columns that nothing ends: written once, blanks behind them. All invented."""

import pytest

from pipeline.ingest.matching.words.heading_units import split_unit
from tests.ingest.matching.test_match import day, matched, write_sheets

DOOR = [("", "Job"), ("", "Crew"), ("", "Fitted"), ("", "Width mm"), ("", "Height mm")]
READINGS = "SELECT DISTINCT measure, member, station FROM readings ORDER BY ALL"
CHECKS = 'SELECT DISTINCT "check", member FROM checks ORDER BY ALL'
GAPS = [("head_gap", "leaf_2", "hinge"), ("head_gap", "leaf_2", "lock")]


def book(firm, heads, cells, n_doors=6, name="doors"):
    """A sheet of doors with further columns. heads: (name of the group, heading); cells: by column, for every door."""
    heads = [*DOOR, *heads] if heads[0][1] != "Job" else heads
    tops = [top if not number or top != heads[number - 1][0] else "" for number, (top, _) in enumerate(heads)]
    rows = [tops, [low for _, low in heads]]
    for number in range(n_doors):
        door = [f"G-{number + 1}", "Elm", day(number + 1), 3000, 2100][: len(heads) - len(cells)]
        rows.append([*door, *(some[number % len(some)] for some in cells)])
    write_sheets(firm.folder / f"{name}.xlsx", {"Doors": rows})


def taken(firm, heads, cells):
    book(firm, heads, cells)
    found = matched(firm, "doors.xlsx")
    firm.take_in()
    return found


def test_ticks_behind_the_last_group_are_none_of_its_readings(empty_firm):
    group = "Leaf 2 head gap, mm"
    heads = [(group, "hinge"), (group, "lock"), ("", "Cill bedded"), ("", "Packed both sides"), ("", "Track clean")]
    ticks = ["✓", "✗", "✓"]
    taken(empty_firm, heads, [[4, 5.5], [5, 6], ticks, ticks[::-1], ["✓"]])
    assert empty_firm.ask(READINGS) == GAPS
    assert empty_firm.ask(CHECKS) == [("packers_both_sides", None), ("sill_bedded", None), ("track_clean", None)]
    assert empty_firm.ask("SELECT count(*) FROM checks WHERE outcome = 'fail'") == [(4,)]


def test_numbers_behind_the_last_group_are_what_their_own_headings_say(empty_firm):
    group = "Head gap leaf 2 (mm)"
    heads = [(group, "hinge"), (group, "lock"), ("", "Temp °C"), ("", "Leaves"), ("", "Notes")]
    taken(empty_firm, heads, [[4, 5.5], [5, 6], [11, 7, 19], [3, 4], ["waited for the plasterer to finish", ""]])
    assert empty_firm.ask(READINGS) == [*GAPS, ("temperature", None, None)]
    assert empty_firm.ask("SELECT DISTINCT leaves FROM installs ORDER BY 1") == [(3,), (4,)]


def test_a_number_that_nobody_understands_is_no_reading_of_the_group_before_it(empty_firm):
    group = "Leaf 2 head gap, mm"
    heads = [(group, "hinge"), (group, "lock"), ("", "Snags"), ("", "Biscuits")]
    taken(empty_firm, heads, [[4, 5.5], [5, 6], [3, 4, 5], [4, 5]])
    assert empty_firm.ask(
        "SELECT DISTINCT measure, member, station, count(*) FROM readings GROUP BY ALL ORDER BY ALL"
    ) == [(*one, 6) for one in GAPS]
    assert 'not_placed = ["Snags", "Biscuits"]' in (empty_firm.folder / "fitback.toml").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("top", "wide", "high"), [("Size, m", "wide", "high"), ("Sizes m", "W", "H"), ("Size in metres", "Width", "Height")]
)
def test_sizes_under_their_unit_and_a_level_behind_them(empty_firm, top, wide, high):
    heads = [("", "Job"), ("", "Crew"), ("", "Fitted"), (top, wide), (top, high), ("", "Cill level")]
    taken(empty_firm, heads, [[2.7, 4.702], [2.1, 2.335], ["3 L", "2 R", "ok"]])
    sizes = empty_firm.ask("SELECT DISTINCT width_mm, height_mm FROM installs ORDER BY ALL")
    assert sizes == [(2700.0, 2100.0), (4702.0, 2335.0)]
    ends = empty_firm.ask("SELECT DISTINCT measure, station FROM readings ORDER BY ALL")
    assert ends == [("sill_height", "left"), ("sill_height", "right")]


def test_what_every_group_has_belongs_to_it(empty_firm):
    heads = [(f"Leaf {leaf} head gap, mm", low) for leaf in (1, 2) for low in ("hinge", "lock", "Toe & heel")]
    taken(empty_firm, heads, [[4, 5.5], [5, 6], ["✓"], [4, 5], [5, 6], ["✓", "✗"]])
    assert empty_firm.ask(CHECKS) == [("toe_and_heel", "leaf_1"), ("toe_and_heel", "leaf_2")]


def test_a_group_that_names_no_reading_goes_on_as_before(empty_firm):
    heads = [("Leaf 1", "head gap hinge"), ("Leaf 1", "head gap lock"), ("Leaf 1", "Toe & heel")]
    taken(empty_firm, heads, [[4, 5.5], [5, 6], ["✓", "✗"]])
    assert empty_firm.ask(READINGS) == [("head_gap", "leaf_1", "hinge"), ("head_gap", "leaf_1", "lock")]
    assert empty_firm.ask(CHECKS) == [("toe_and_heel", "leaf_1")]


def test_a_mapping_that_names_the_carried_heading_is_still_read(empty_firm):
    group = "Leaf 2 head gap, mm"
    heads = [(group, "hinge"), (group, "lock"), ("", "Track clean")]
    book(empty_firm, heads, [[4, 5.5], [5, 6], ["✓", "✗"]])
    matched(empty_firm, "doors.xlsx")
    toml = empty_firm.folder / "fitback.toml"
    said = toml.read_text(encoding="utf-8")
    assert '"Track clean"' in said
    toml.write_text(said.replace('"Track clean"', f'"{group} / Track clean"'), encoding="utf-8")
    empty_firm.take_in()
    assert empty_firm.ask("SELECT count(*) FROM checks") == [(6,)]


@pytest.mark.parametrize(
    ("heading", "unit"),
    [
        ("Size, m / wide", "m"),
        ("Gap - mm / hinge", "mm"),
        ("Sizes in inches / W", "in"),
        ("Seal squash, in / Leaf 1", "in"),
        ("Dimensions m / high", "m"),
        ("Gap, in / out", None),
        ("Sill m / high", None),
    ],
)
def test_the_unit_at_the_end_of_the_name_of_a_group(heading, unit):
    assert split_unit(heading)[1] == unit


def test_a_number_that_names_a_check_and_no_reading_is_none_of_the_group_before_it(empty_firm):
    group = "Running force, N"
    heads = [(group, "Leaf 1"), (group, "Leaf 2"), ("", "Seal"), ("", "Temp °C")]
    taken(empty_firm, heads, [[40, 42], [41, 44], [5, 6], [11, 12]])
    assert empty_firm.ask("SELECT DISTINCT measure, member FROM readings ORDER BY ALL") == [
        ("running_force", "leaf_1"),
        ("running_force", "leaf_2"),
        ("temperature", None),
    ]

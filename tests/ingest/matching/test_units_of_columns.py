"""Units of whole columns as headings and their like say them: pounds and Fahrenheit are never taken as metric."""

import pytest

from pipeline.ingest.matching.words.heading_units import split_unit
from tests.ingest.matching.test_match import add_doors, day, matched, write_sheets


def taken(firm, heads, *rows):
    """(measure, value) of the readings of a sheet, matched and taken in."""
    doors = [f"U{n}" for n in range(len(rows))]
    add_doors(firm, doors)
    write_sheets(
        firm.folder / "r.xlsx",
        {"R": [["Door", *heads], *([door, *row] for door, row in zip(doors, rows, strict=True))]},
    )
    matched(firm, "r.xlsx")
    firm.take_in()
    return firm.ask("SELECT measure, round(value, 2) FROM readings ORDER BY ALL")


def test_pounds_and_fahrenheit(empty_firm):
    found = taken(empty_firm, ["Pull test (lb)", "Temp F", "Head gap leaf 1 hinge"], [10, 68, 3], [20, 50, 4])
    # 10 lbf = 44.48 N, 68 degF = 20 degC: NIST SP 811, appendix B.8
    assert found == [
        ("head_gap", 3.0), ("head_gap", 4.0), ("running_force", 44.48), ("running_force", 88.96), ("temperature", 10.0),
        ("temperature", 20.0),
    ]  # fmt: skip


def test_so_hot_a_day_was_in_fahrenheit(empty_firm):
    assert taken(empty_firm, ["Air temperature", "Sill L"], [75.2, 0], [59, 1])[2:] == [
        ("temperature", 15.0),
        ("temperature", 24.0),
    ]


def test_sizes_in_feet_in_one_cell_and_masses_beside_them(empty_firm):
    sizes = ["12' 6\" x 6'-8\"", "14'0\" x 7' 1 1/2\"", "150 x 82"]
    rows = [[f"U{n}", f"{n + 15}/06/2025", "Elm", size, 4, 110] for n, size in enumerate(sizes)]
    heads = ["Door no", "Installed", "Crew", "Size", "Panels", "Panel weight"]
    write_sheets(empty_firm.folder / "s.xlsx", {"S": [heads, *rows]})
    matched(empty_firm, "s.xlsx")
    empty_firm.take_in()
    found = empty_firm.ask("SELECT round(width_mm), round(height_mm), leaf_weight_kg FROM installs ORDER BY install_id")
    assert found == [(3810, 2032, None), (4267, 2172, None), (3810, 2083, None)]


@pytest.mark.parametrize(
    ("heads", "rows"),
    [
        (["Sill fall left %", "Temp"], [[1, 12], [2, 12]]),
        (["Head gap leaf 1 hinge (1/16)", "Temp"], [[2, 12], [3, 12]]),
        (["Threshold", "Temp"], [[5, 12], [6, 12]]),
    ],
)
def test_what_may_be_another_unit_or_thing_is_left_to_a_person(empty_firm, heads, rows):
    assert {measure for measure, _ in taken(empty_firm, heads, *rows)} == {"temperature"}


@pytest.mark.parametrize("centre", ["Sill centre", "Sill centre (+ = low)"])
def test_bare_numbers_beside_columns_of_inches_are_left_to_a_person(empty_firm, centre):
    found = taken(empty_firm, ["Sill left", centre, "Sill right"], ['1/16"', 0, 0], ['1/8"', 1, 0], ["0", 2, 0])
    assert len(found) == 6
    assert {round(value, 1) for _, value in found} == {0.0, 1.6, 3.2}


def test_a_mark_in_the_cell_goes_before_a_unit_that_was_only_taken(empty_firm):
    cells = [2, 0, '3/16"', "-1", "2mm", 3, 1]
    found = taken(empty_firm, ["Sill left"], *([cell] for cell in cells))
    assert sorted(value for _, value in found) == [-1.0, 0.0, 1.0, 2.0, 2.0, 3.0, 4.76]


def test_a_bare_fraction_among_millimetres_is_of_a_tape_only_where_it_can_be_nothing_else(empty_firm):
    cells = [3, 4, "3mm", "3/4", "1/2", "3/16", "4 mm", '1/4"']
    found = taken(empty_firm, ["Leaf 1 head gap hinge"], *([cell] for cell in cells))
    assert sorted(value for _, value in found) == [3.0, 3.0, 4.0, 4.0, 4.76, 6.35]
    assert all(reason.startswith("fractions are of inches") for reason in empty_firm.reasons())


def test_feet_and_inches_however_they_are_marked(empty_firm):
    cells = ["7'-6 1/2\"", "7ft 6in", "7' 6", "7’ 6½”", "7.5'"]
    found = taken(empty_firm, ["Frame width"], *([cell] for cell in cells))
    assert [value for _, value in found] == [2286.0, 2286.0, 2286.0, 2298.7, 2298.7]


def test_numbers_with_both_marks_tell_their_unit_by_their_size(empty_firm):
    found = taken(empty_firm, ["Diagonal BL-TR"], ["5.029,5"], ["4.781,0"])
    assert found == [("frame_diagonal", 4781.0), ("frame_diagonal", 5029.5)]


def test_metres_with_three_decimals_are_no_thousands(empty_firm):
    found = taken(empty_firm, ["Opening width bottom (m)", "Opening height left"], ["2.674", "2.105"], ["3.012", "2.1"])
    assert found == [
        ("aperture_height", 2100.0), ("aperture_height", 2105.0), ("aperture_width", 2674.0), ("aperture_width", 3012.0)
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("heading", "unit"),
    [
        ("Width (ft-in)", "in"),
        ("Sill (C)", None),
        ("Temp (C)", "°C"),
        ("Weight lbs", "lb"),
        ("Air temp deg F", "°F"),
        ("Leaf kg", "kg"),
    ],
)
def test_letters_that_are_units_of_some_things_only(heading, unit):
    assert split_unit(heading)[1] == unit


def test_sizes_that_all_name_their_own_unit(empty_firm):
    rows = [["U1", day(1), "Elm", "318cm", "2110 mm"], ["U2", day(2), "Elm", "3.42 m", "211.5 cm"]]
    rows += [["U3", day(3), "Elm", "2990mm", "2.08m"]]
    write_sheets(empty_firm.folder / "s.xlsx", {"S": [["Door no", "Fitted", "Crew", "Width", "Height"], *rows]})
    matched(empty_firm, "s.xlsx")
    empty_firm.take_in()
    found = empty_firm.ask("SELECT width_mm, height_mm FROM installs ORDER BY install_id")
    assert found == [(3180, 2110), (3420, 2115), (2990, 2080)]


@pytest.mark.parametrize("heading", ["Panel 2 pull lbf", "Push, lbs force, leaf 2", "Pull lb leaf 2", "Force lb-f P2"])
def test_pounds_of_force_wherever_the_heading_says_them(empty_firm, heading):
    assert taken(empty_firm, [heading], [10], [20]) == [("running_force", 44.48), ("running_force", 88.96)]


@pytest.mark.parametrize(("cells", "n_read"), [(['1/8"', '3/16"'], 0), ([3, 4], 2)])
def test_a_force_without_a_unit_beside_inches_is_left_to_a_person(empty_firm, cells, n_read):
    found = taken(empty_firm, ["Leaf 1 head gap hinge", "Pull leaf 1"], [cells[0], 10], [cells[1], 12])
    assert sum(measure == "running_force" for measure, _ in found) == n_read


def heights(firm, heads, cells):
    """(place along the left jamb, value) of what was read under headings of its face."""
    taken(firm, heads, cells, cells)
    return firm.ask("SELECT DISTINCT position_mm, station FROM readings WHERE measure = 'jamb_face' ORDER BY ALL")


@pytest.mark.parametrize(
    ("places", "meant"),
    [
        (['at 12"', 'at 72"'], [(304.8, None), (1828.8, None)]),
        (["at 12", "at 72"], [(304.8, None), (1828.8, None)]),
        (["@ 6 in", "@ 40 in", "@ 80 in"], [(152.4, None), (1016.0, None), (2032.0, None)]),
        (["at 1'", "at 6'-6\""], [(304.8, None), (1981.2, None)]),
        (["at 300", "at 1800"], [(300.0, None), (1800.0, None)]),
        (["1", "2", "3"], [(None, "1"), (None, "2"), (None, "3")]),
        (["at 120"], []),
        (["at 12", "at 300"], [(300.0, None)]),
    ],
)
def test_how_far_up_a_jamb_in_a_sheet_of_inches(empty_firm, places, meant):
    found = heights(
        empty_firm, [f"Left jamb face {place}" for place in places], ['1/8"', '-1/16"', '3/16"'][: len(places)]
    )
    assert found == meant


@pytest.mark.parametrize(
    ("places", "meant"),
    [
        (["at 12", "at 72"], []),
        (["at 12"], []),
        (["at 12", "at 1900"], [(1900.0, None)]),
        (['at 12"', 'at 72"'], [(304.8, None), (1828.8, None)]),
        (["at 150", "at 1900"], [(150.0, None), (1900.0, None)]),
        (["1", "2"], [(None, "1"), (None, "2")]),
    ],
)
def test_how_far_up_a_jamb_in_a_sheet_of_millimetres(empty_firm, places, meant):
    found = heights(empty_firm, [f"Left jamb face {place}" for place in places], [2, -1][: len(places)])
    assert found == meant


PLUMB = [f"{side} jamb plumb, face, {end}" for side in ("LH", "RH") for end in ("bottom", "top")]


def plumb(firm, title):
    """Jambs with a fraction of an inch in two of their columns, under a title; the mapping that was proposed."""
    tops = [('1/8"', 2), (2, '1/4"'), (-1, '1/8"'), ('1/8"', '1/4"'), ('1/4"', 1)]
    cells = [[0, left, 0, right] for left, right in tops]
    doors = [f"U{n}" for n in range(len(cells))]
    add_doors(firm, doors)
    rows = [[door, *row] for door, row in zip(doors, cells, strict=True)]
    write_sheets(firm.folder / "r.xlsx", {"R": [[title], ["Door", *PLUMB], *rows]})
    matched(firm, "r.xlsx")
    firm.take_in()
    return firm.ask("SELECT install_id, member, round(value, 3) FROM readings WHERE station = 'top' ORDER BY ALL")


@pytest.mark.parametrize("note", ["mm unless I wrote it. Stood inside", "All mm unless stated otherwise", "Jambs (mm)"])
def test_a_note_over_the_header_says_what_bare_numbers_are_in(empty_firm, note):
    found = plumb(empty_firm, note)
    assert [value for _, member, value in found if member == "left_jamb"] == [3.175, 2.0, -1.0, 3.175, 6.35]
    assert [value for _, member, value in found if member == "right_jamb"] == [2.0, 6.35, 3.175, 6.35, 1.0]
    assert empty_firm.set_aside() == []


def test_such_a_note_may_say_inches(empty_firm):
    found = plumb(empty_firm, "inches unless I wrote it")
    assert [value for _, member, value in found if member == "left_jamb"] == [3.175, 50.8, -25.4, 3.175, 6.35]


def test_a_bare_number_without_such_a_note_is_set_aside_with_its_heading_and_its_text(empty_firm):
    plumb(empty_firm, "Jambs")
    told = empty_firm.ask('SELECT "row", "column", value, reason FROM rejections ORDER BY ALL')
    assert [one[:3] for one in told[:2]] == [(3, PLUMB[3], "2"), (4, PLUMB[1], "2")]
    assert all(reason.startswith("this names no unit") and "mm, cm" in reason for *_, reason in told)

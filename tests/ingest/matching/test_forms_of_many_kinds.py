"""Forms, one door a sheet, as fitting firms print them, all invented: headings that are numbers or shares of a length.

How such forms look is common practice, no source.
"""

import tomllib

import pytest

from pipeline.ingest.matching.words.meaning import SURE, reading_meaning
from tests.ingest.matching.test_match import day, matched, write_sheets


def facts(number):
    who = ["Gang:", "Elm", None, "Overall width:", 3000]
    return [["Plot:", f"P{number}", None, "Installed:", day(number)], who, []]


def test_fixings_and_shares_of_the_sill_under_numbered_headings(empty_firm):
    """A door whose jamb has fewer fixings has fewer headings, and no other form."""

    def form(number, fixings):
        return [
            *facts(number),
            ["A) FIXINGS OF JAMBS, mm from bottom", *range(1, len(fixings) + 1)],
            ["Left hand", *fixings],
            ["Right hand", *(one + 10 for one in fixings)],
            [],
            ["Cill level, mm", "Left", "1/4", "Middle", "3/4", "Right"],
            ["As read", 0, 0.5, 1, 1.5, number],
        ]

    forms = {"P21": form(21, [200, 780, 1350, 1920]), "P22": form(22, [180, 1000, 1900])}
    write_sheets(empty_firm.folder / "forms.xlsx", forms)
    matched(empty_firm, "forms.xlsx")
    empty_firm.take_in()
    found = "SELECT value FROM readings WHERE install_id = '{}' AND member = '{}' ORDER BY position_mm, value"
    assert empty_firm.ask(found.format("P21", "left_jamb")) == [(200,), (780,), (1350,), (1920,)]
    assert empty_firm.ask(found.format("P22", "right_jamb")) == [(190,), (1010,), (1910,)]
    assert empty_firm.ask(found.format("P22", "sill")) == [(0,), (0.5,), (1,), (1.5,), (22,)]
    assert empty_firm.set_aside() == []


def test_leaves_side_by_side_under_their_numbers(empty_firm):
    def form(number, n_leaves):
        rows = [["Leaf", *range(1, n_leaves + 1)], ["Top gap hinge side", *range(4, 4 + n_leaves)]]
        return [*facts(number), *rows, ["Top gap lock side", *[5] * n_leaves], ["Toe and heel", *["yes"] * n_leaves]]

    write_sheets(empty_firm.folder / "forms.xlsx", {"P1": form(1, 3), "P2": form(2, 2)})
    matched(empty_firm, "forms.xlsx")
    empty_firm.take_in()
    assert empty_firm.ask("SELECT install_id, member, value FROM readings WHERE station = 'hinge' ORDER BY ALL") == [
        ("P1", "leaf_1", 4), ("P1", "leaf_2", 5), ("P1", "leaf_3", 6), ("P2", "leaf_1", 4), ("P2", "leaf_2", 5),
    ]  # fmt: skip
    assert empty_firm.account("checks") == (5, 5, 0, 0)


@pytest.mark.parametrize(
    ("heading", "member"),
    [
        ("Jamb fixings, mm from sill / Left / 2", "left_jamb"),
        ("Jamb fixings from sill / RH / 2", "right_jamb"),
        ("Jamb fixings, mm from sill / 2", ""),
        ("Sill fixings mm from left / 2", "sill"),
    ],
)
def test_a_fixing_counted_from_the_sill_is_none_of_the_sill(heading, member):
    found = reading_meaning(heading)
    assert (found.name, found.place.member) == ("fixing", member)


def test_a_fixing_counted_from_the_head_is_left_to_a_person():
    assert reading_meaning("RH jamb fixings, mm from head / 2").sure < 0.6


def test_pairs_side_by_side_with_their_units_behind_them(empty_firm):
    """Each value has the unit that stands beside it: one form writes its diagonals in cm."""

    def form(number, unit, factor):
        rows = [["Job card"], ["Plot", f"P{number}", None, None, "Gang", "Elm"], ["Fitted", day(number)], []]
        rows += [["Frame diagonal A-C", 4305 / factor, unit, None, "Top gap leaf 1 hinge side", 4, "mm"]]
        return [*rows, ["Frame diagonal B-D", 4302 / factor, unit, None, "Rollers seated", "Y"]]

    write_sheets(empty_firm.folder / "cards.xlsx", {"P1": form(1, "mm", 1), "P2": form(2, "cm", 10)})
    matched(empty_firm, "cards.xlsx")
    empty_firm.take_in()
    assert empty_firm.ask("SELECT install_id, crew FROM installs ORDER BY 1") == [("P1", "Elm"), ("P2", "Elm")]
    assert empty_firm.ask("SELECT install_id, measure, value FROM readings ORDER BY ALL") == [
        ("P1", "frame_diagonal", 4302), ("P1", "frame_diagonal", 4305), ("P1", "head_gap", 4),
        ("P2", "frame_diagonal", 4302), ("P2", "frame_diagonal", 4305), ("P2", "head_gap", 4),
    ]  # fmt: skip
    assert empty_firm.account("checks") == (2, 2, 0, 0)


def test_a_unit_between_what_was_read_and_its_value(empty_firm):
    def form(number):
        rows = [["Door ref", f"D{number}"], ["Crew", "Ash"], ["Fitted on", day(number)], []]
        rows += [["Item", "Unit", "Reading"]]
        rows += [["Sill level left", "cm", 0.05], ["Sill level right", "cm", number / 10]]
        return [*rows, ["Sliding force leaf 2", "N", 40 + number]]

    write_sheets(empty_firm.folder / "forms.xlsx", {f"D{n}": form(n) for n in (1, 2)})
    matched(empty_firm, "forms.xlsx")
    empty_firm.take_in()
    assert empty_firm.ask("SELECT install_id, station, value FROM readings WHERE unit = 'mm' ORDER BY ALL") == [
        ("D1", "left", 0.5), ("D1", "right", 1.0), ("D2", "left", 0.5), ("D2", "right", 2.0)
    ]  # fmt: skip
    assert empty_firm.ask("SELECT member, value FROM readings WHERE measure = 'running_force' ORDER BY 2") == [
        ("leaf_2", 41.0),
        ("leaf_2", 42.0),
    ]


def test_labels_that_stand_again_under_titles_side_by_side_and_below(empty_firm):
    """A value left blank under one title is never taken from elsewhere."""

    def form(number, lock):
        rows = [*facts(number), ["PANEL 1", None, None, "PANEL 2"]]
        rows += [["Top gap, hinge end", number, None, "Top gap, hinge end", number + 10]]
        rows += [
            ["Top gap, lock end", lock, None, "Top gap, lock end", 7],
            ["Heel and toe done", "ok", None, "Heel and toe done", "no"],
        ]
        for side, sign in (("LEFT", 1), ("RIGHT", -1)):
            rows += [[], [f"{side} JAMB"], ["Plumb in plane at bottom", 0], ["Plumb in plane at top", sign * number]]
        return rows

    forms = {f"P{n}": form(n, lock) for n, lock in ((2, 3), (3, None), (4, 5))}
    write_sheets(empty_firm.folder / "forms.xlsx", forms)
    matched(empty_firm, "forms.xlsx")
    empty_firm.take_in()
    found = "SELECT member, station, value FROM readings WHERE install_id = 'P3' AND measure = '{}' ORDER BY ALL"
    assert empty_firm.ask(found.format("head_gap")) == [
        ("leaf_1", "hinge", 3), ("leaf_2", "hinge", 13), ("leaf_2", "lock", 7)
    ]  # fmt: skip
    assert empty_firm.ask(found.format("jamb_edge")) == [
        ("left_jamb", "bottom", 0), ("left_jamb", "top", 3), ("right_jamb", "bottom", 0), ("right_jamb", "top", -3)
    ]  # fmt: skip
    assert empty_firm.ask("SELECT member, outcome FROM checks WHERE install_id = 'P2' ORDER BY 1") == [
        ("leaf_1", "pass"),
        ("leaf_2", "fail"),
    ]


def test_doors_across_with_names_of_groups_between_what_was_read(empty_firm):
    """What stands last, under the readings of a leaf, is none of the leaf; blank columns of doors are no doors."""
    rows = [
        ["Readings, a column for every door"],
        ["Door set", "A1", "A2", "A3", "A4"],
        ["Gang", "Elm", "Ash", "Elm", "Ash"],
    ]
    rows += [["Installed", *map(day, range(4))], ["CILL"], ["Level left", 0, 1, 0, 1], ["Level right", 2, 1, 2, 3]]
    for leaf in (1, 2):
        rows += [[f"Leaf {leaf}"], ["Top gap hinge", leaf, 3, 3, 3], ["Top gap lock", 4, 4, 4, 4 + leaf]]
    write_sheets(empty_firm.folder / "across.xlsx", {"Sheet1": [*rows, ["Locks operate", "Y", "Y", "N", "Y"]]})
    matched(empty_firm, "across.xlsx")
    empty_firm.take_in()
    assert empty_firm.account("installs") == (4, 4, 0, 0)
    found = "SELECT measure, member, station, value FROM readings WHERE install_id = 'A4' ORDER BY ALL"
    assert empty_firm.ask(found) == [
        ("head_gap", "leaf_1", "hinge", 3), ("head_gap", "leaf_1", "lock", 5), ("head_gap", "leaf_2", "hinge", 3),
        ("head_gap", "leaf_2", "lock", 6), ("sill_height", "sill", "left", 1), ("sill_height", "sill", "right", 3),
    ]  # fmt: skip
    assert empty_firm.ask('SELECT DISTINCT "check", member FROM checks') == [("locks_operate", None)]


def boxed(number: int) -> list[list[object]]:
    return [
        ["FITTING RECORD"],
        [],
        ["Plot", "Gang", "Installed", "Handed over"],
        [f"P{number}", "Elm", day(number), day(number + 1)],
        [],
        ["Overall width", "Overall height", "Leaves"],
        [3000 + number, 2100, 3],
        [],
        ["Cill level, mm"],
        ["Left", "Middle", "Right"],
        [0.5, -number, 1],
        [],
        ["Leaf", "Top gap hinge side", "Top gap lock side"],
        *([leaf, 4, 5] for leaf in (1, 2, 3)),
    ]


def test_boxes_with_the_label_over_what_it_asks_for(empty_firm):
    write_sheets(empty_firm.folder / "forms.xlsx", {f"P{number}": boxed(number) for number in (3, 14, 15)})
    matched(empty_firm, "forms.xlsx")
    empty_firm.take_in()
    found = empty_firm.ask("SELECT install_id, crew, width_mm, leaves, fitted_on::TEXT FROM installs ORDER BY 1")
    assert found == [(f"P{number}", "Elm", 3000 + number, 3, str(day(number))[:10]) for number in (14, 15, 3)]
    sill = "SELECT value FROM readings WHERE install_id = 'P14' AND measure = 'sill_height' ORDER BY position_mm"
    assert empty_firm.ask(sill) == [(0.5,), (-14,), (1,)]
    assert empty_firm.account("readings") == (27, 27, 0, 0)
    assert empty_firm.set_aside() == []


def test_a_colon_behind_the_label_of_a_box_is_none_of_its_name(empty_firm):
    """Before, a form whose labels had colons was no other like one without."""

    def form(number, colon):
        rows = boxed(number)
        return [*rows[:2], [f"{label}{colon}" for label in rows[2]], *rows[3:]]

    write_sheets(empty_firm.folder / "forms.xlsx", {"P3": form(3, ":"), "P4": form(4, ""), "P5": form(5, ":")})
    matched(empty_firm, "forms.xlsx")
    empty_firm.take_in()
    assert empty_firm.ask("SELECT install_id, crew FROM installs ORDER BY 1") == [
        ("P3", "Elm"), ("P4", "Elm"), ("P5", "Elm")
    ]  # fmt: skip


def test_a_heading_of_leaves_is_not_what_the_text_beside_it_asks_for(empty_firm):
    """The checks below are of the door, not of the leaf whose column begins further up."""

    def form(number):
        rows = [["Leaf sizes taken", "Leaf 1", "Leaf 2"], ["Top gap hinge side", 4, 5], ["Toe and heel", "yes", "yes"]]
        return [
            *facts(number),
            *rows,
            [],
            ["Last look", "yes / no"],
            ["Drain slots clear", "yes"],
            ["Locks work", "no"],
        ]

    write_sheets(empty_firm.folder / "forms.xlsx", {f"P{number}": form(number) for number in (1, 2)})
    matched(empty_firm, "forms.xlsx")
    empty_firm.take_in()
    of_doors = "SELECT \"check\", outcome FROM checks WHERE install_id = 'P1' AND member IS NULL ORDER BY 1"
    assert empty_firm.ask(of_doors) == [("drainage_clear", "pass"), ("locks_operate", "fail")]
    assert empty_firm.account("checks") == (8, 8, 0, 0)


def test_small_tables_stacked_under_one_title_are_each_of_what_it_says(empty_firm):
    """A row under places is no single size of the door, and a level in mm no storey."""

    def form(number):
        rows = [["A. Opening (mm)"], [None, "bottom", "top"], ["Width", 3100, 3104], [None, "left", "right"]]
        sill = [["2 SILL"], [None, "Left", "Right"], ["Level (mm, + high)", 0.5, number]]
        return [*facts(number), *rows, ["Height", 2110, 2112], [], *sill]

    write_sheets(empty_firm.folder / "forms.xlsx", {f"P{number}": form(number) for number in (1, 2)})
    matched(empty_firm, "forms.xlsx")
    empty_firm.take_in()
    read = "SELECT measure, value FROM readings WHERE install_id = 'P2' ORDER BY ALL"
    assert empty_firm.ask(read) == [
        ("aperture_height", 2110), ("aperture_height", 2112), ("aperture_width", 3100), ("aperture_width", 3104),
        ("sill_height", 0.5), ("sill_height", 2),
    ]  # fmt: skip
    assert empty_firm.ask("SELECT DISTINCT width_mm, storey FROM installs") == [(3000, None)]


def test_a_letter_in_a_box_is_what_it_asks_for_and_no_label(empty_firm):
    def form(number, faces):
        rows = [["Door no.", "Team", "Date fitted", "Orientation"], [f"P{number}", "Elm", day(number), faces]]
        return [["Door file"], [], *rows, [], ["Client", "Post code", "Width (mm)"], ["A. Nobody", "ZZ1", 3000]]

    write_sheets(empty_firm.folder / "forms.xlsx", {"P1": form(1, "S"), "P2": form(2, "W")})
    matched(empty_firm, "forms.xlsx")
    empty_firm.take_in()
    assert empty_firm.ask("SELECT install_id, orientation FROM installs ORDER BY 1") == [("P1", "S"), ("P2", "W")]


@pytest.mark.parametrize("corner", ["Fixing no", "Fixing no.", "Fixing number"])
def test_the_corner_over_numbers_of_fixings_says_what_the_columns_are(corner):
    found = reading_meaning(f"{corner} / Left jamb / 3")
    assert (found.name, found.place.member, found.place.station, found.sure >= SURE) == (
        "fixing",
        "left_jamb",
        "3",
        True,
    )
    assert reading_meaning("Number of fixings / Left jamb / 3").sure < SURE


def test_a_key_to_ticks_is_nobody_who_read(empty_firm):
    forms = {
        f"D{at}": [["Door no", f"D{at}"], ["Crew", "Elm"], ["Fitted", day(at)], ["CHECKED", "✓ / ✗"]]
        for at in (1, 2, 3)
    }
    for rows in forms.values():
        rows += [
            ["Locks operate", "✓"],
            ["Track clean", "✗"],
            ["Frame diagonal BL-TR (mm)", 3400],
            ["Frame diagonal TL-BR (mm)", 3401],
        ]
    write_sheets(empty_firm.folder / "forms.xlsx", forms)
    matched(empty_firm, "forms.xlsx")
    empty_firm.take_in()
    assert empty_firm.ask("SELECT DISTINCT read_by FROM readings") == [(None,)]


@pytest.mark.parametrize("corner", ["Panel", "Leaf no.", "Point"])
def test_the_number_of_a_row_is_nothing_that_was_read(empty_firm, corner):
    """Under a title that says what was read it is still the leaf, or the point, whose row it is."""

    def form(number):
        gaps = [["GAPS"], ["Panel", "Head, hinge end", "Head, lock end"], [1, 4.5, 5], [2, 5.5, 6], []]
        rows = [["SEAL SQUASH"], [corner, "first", "last"], [1, 4.5, number / 2 + 3], [2, 6.5, 7], []]
        return [["Panels:", 2, None, "Customer:", "A. Nobody"], *facts(number), *gaps, *rows]

    write_sheets(empty_firm.folder / "forms.xlsx", {f"P{number}": form(number) for number in (1, 2, 3)})
    matched(empty_firm, "forms.xlsx")
    empty_firm.take_in()
    assert empty_firm.ask("SELECT DISTINCT leaves FROM installs") == [(2,)]
    assert empty_firm.ask("SELECT measure, value FROM readings WHERE value IN (1, 2)") == []
    gaps = "SELECT member, value FROM readings WHERE install_id = 'P2' AND measure = 'head_gap' ORDER BY ALL"
    assert empty_firm.ask(gaps) == [("leaf_1", 4.5), ("leaf_1", 5), ("leaf_2", 5.5), ("leaf_2", 6)]


def test_a_title_over_a_corner_says_what_its_headings_are_of(empty_firm):
    """Small tables of the same leaves under titles of their own; what no title says to be known is named with it."""

    def form(number):
        packers = [
            ["HINGE PACKING - no. of 1 mm shims"],
            ["Panel", "Hinge 1", "Hinge 2"],
            [1, 0, 2],
            [2, 3, number],
            [],
        ]
        seals = [["SEAL SQUASH, mm"], ["Panel", "Point 1", "Point 2"], [1, 4, 5], [2, 6, 4.5], []]
        others = [["STRIKER DIAL"], ["Panel", "Setting 1", "Setting 2"], [1, 4, 5], [2, 6, 3], []]
        return [*facts(number), *packers, [], *seals, *others]

    write_sheets(empty_firm.folder / "forms.xlsx", {f"P{number}": form(number) for number in (1, 2)})
    matched(empty_firm, "forms.xlsx")
    empty_firm.take_in()
    read = "SELECT measure, member, station, value FROM readings WHERE install_id = 'P2' ORDER BY ALL"
    assert empty_firm.ask(read) == [
        ("hinge_packers", "leaf_1", "1", 0), ("hinge_packers", "leaf_1", "2", 2), ("hinge_packers", "leaf_2", "1", 3),
        ("hinge_packers", "leaf_2", "2", 2), ("seal_compression", "leaf_1", "1", 4),
        ("seal_compression", "leaf_1", "2", 5), ("seal_compression", "leaf_2", "1", 6),
        ("seal_compression", "leaf_2", "2", 4.5),
    ]  # fmt: skip
    (sheet,) = tomllib.loads((empty_firm.folder / "fitback.toml").read_text(encoding="utf-8"))["sheet"]
    cells = [f"Leaf {leaf} / Setting {point}" for leaf in (1, 2) for point in (1, 2)]
    assert sheet["not_placed"] == [f"STRIKER DIAL / {cell}" for cell in cells]


def test_jambs_by_side_and_plane_under_a_title(empty_firm):
    def form(number):
        head = [["JAMB PLUMB - mm off the line (seen from inside the room)"], [None, "Bottom", "Middle", "Top"]]
        rows = [["LH face", 20, 21, 22], ["LH edge", 18, 19, number], ["RH face", 17, 16, 15], ["RH edge", 21, 22, 23]]
        return [*facts(number), ["Overall height:", 2100], [], *head, *rows]

    write_sheets(empty_firm.folder / "forms.xlsx", {f"P{number}": form(number) for number in (11, 12)})
    matched(empty_firm, "forms.xlsx")
    empty_firm.take_in()
    read = (
        "SELECT value FROM readings WHERE install_id = 'P12' AND measure = '{}' AND member = '{}' ORDER BY position_mm"
    )
    for measure, member, values in (
        ("jamb_face", "left_jamb", [20, 21, 22]), ("jamb_edge", "left_jamb", [18, 19, 12]),
        ("jamb_face", "right_jamb", [17, 16, 15]), ("jamb_edge", "right_jamb", [21, 22, 23]),
    ):  # fmt: skip
        assert empty_firm.ask(read.format(measure, member)) == [(value,) for value in values]


@pytest.mark.parametrize(("first", "last"), [("Yes", "No"), ("Done", "Done"), ("OK", "n/a"), ("Yes", None)])
def test_the_last_checks_of_a_form_are_no_labels_over_boxes(empty_firm, first, last):
    def form(number):
        checks = [["LAST LOOK"], ["Item", "Yes / No"], ["Handles smooth", "Yes"], ["Drain slots clear", "No"]]
        return [
            *facts(number),
            *checks,
            ["Runner channel swept", first],
            ["Screw caps back on", last],
            [],
            ["Signed", "EL"],
        ]

    write_sheets(empty_firm.folder / "forms.xlsx", {f"P{number}": form(number) for number in (1, 2)})
    matched(empty_firm, "forms.xlsx")
    empty_firm.take_in()
    seen = [("drainage_clear", "fail"), ("handles_smooth", "pass"), ("track_clean", "pass")]
    outcomes = {"No": "fail", "Done": "pass", "n/a": "not_applicable"}
    seen += [("covers_replaced", outcomes[last])] if last else []
    assert empty_firm.ask("SELECT \"check\", outcome FROM checks WHERE install_id = 'P2' ORDER BY 1") == sorted(seen)

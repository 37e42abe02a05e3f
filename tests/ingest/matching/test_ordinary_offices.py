"""What ordinary offices leave to the reader of their sheets, all invented.

How offices keep them is common practice, no source.
"""

import pytest

from pipeline.ingest.matching.match import match_files
from pipeline.ingest.matching.words.heading_units import split_unit
from pipeline.ingest.matching.words.meaning import reading_meaning
from pipeline.ingest.matching.words.vocabulary import words_of
from pipeline.ingest.texts.glazing import thickness_in
from tests.ingest.matching.test_match import day, matched, write_sheets

DOORS = ["Job no", "Customer", "Team", "Width mm", "Height mm", "Leaves", "Fitted", "Handed over"]


def together(firm, *names):
    match_files([firm.folder / name for name in names], is_terminal=False)


def door(number, team="Elm", fitted=None):
    fitted = day(number) if fitted is None else fitted
    return [f"J{number}", f"A. Nobody{number}", team, 3000, 2100, 3, fitted, day(number + 2)]


def readings(number, remark=None):
    return [f"J{number}", day(number), 0, 1, 2, 3660, 3661, remark]


READ = ["Job no", "Date", "Sill left", "Sill centre", "Sill right", "Diagonal BL-TR", "Diagonal TL-BR", "Remarks"]


def test_doors_of_a_register_in_two_sheets_are_all_known_to_the_sheet_of_their_readings(empty_firm):
    """Remarks and days beside numbers of doors make no log of calls."""
    first, second = [DOORS, *map(door, range(1, 7))], [DOORS, *map(door, range(7, 11))]
    write_sheets(empty_firm.folder / "register.xlsx", {"Jan-Jun": first, "Jul-Dec": second})
    site = [READ, *(readings(number, "scaffold up until late" if number % 3 else None) for number in range(1, 11))]
    write_sheets(empty_firm.folder / "site.xlsx", {"Site": site})
    together(empty_firm, "register.xlsx", "site.xlsx")
    empty_firm.take_in()
    assert empty_firm.account("readings") == (50, 50, 0, 0)
    assert empty_firm.ask("SELECT count(*) FROM callbacks") == [(0,)]


def test_a_sheet_of_readings_of_doors_that_nobody_lists_is_no_log_of_calls(empty_firm):
    site = [READ, *(readings(number, "scaffold up until late") for number in range(1, 6))]
    write_sheets(empty_firm.folder / "site.xlsx", {"Site": site})
    proposals = matched(empty_firm, "site.xlsx").proposals
    assert not any("callbacks" in one.columns for one in proposals)


def log(heads, rows):
    return [["Call no", "Job no", "Problem", *heads], *([f"W{n}", f"J{n}", f"Leaf {n} drags", *row] for n, row in rows)]


CALLED = [(number, (day(number), day(number + 4))) for number in range(1, 7)]


@pytest.mark.parametrize(
    ("heads", "place"),
    [(("Call date", "Service date"), 1), (("Service date", "Call date"), -1), (("Rang", "Date called out"), 1)],
)
def test_the_day_of_the_call_is_the_earlier_one(empty_firm, heads, place):
    rows = [(number, days[::place]) for number, days in CALLED]
    write_sheets(empty_firm.folder / "doors.xlsx", {"Doors": [DOORS, *map(door, range(1, 7))]})
    write_sheets(empty_firm.folder / "calls.xlsx", {"Calls": log(heads, rows)})
    together(empty_firm, "calls.xlsx", "doors.xlsx")
    empty_firm.take_in()
    lags = "SELECT DISTINCT date_diff('day', reported_on, visited_on) FROM callbacks"
    assert empty_firm.ask(lags) == [(4,)]


def test_months_before_days_are_read_so_before_days_are_compared(empty_firm):
    rows = [(1, ("3/31/2025", "4/7/2025")), (2, ("4/23/2025", "4/28/2025")), (3, ("6/8/2025", "6/10/2025"))]
    write_sheets(empty_firm.folder / "doors.xlsx", {"Doors": [DOORS, *map(door, range(1, 7))]})
    write_sheets(empty_firm.folder / "calls.xlsx", {"Calls": log(("Call date", "Service date"), rows)})
    together(empty_firm, "calls.xlsx", "doors.xlsx")
    empty_firm.take_in()
    asked = "SELECT reported_on::TEXT, visited_on::TEXT FROM callbacks ORDER BY 1"
    assert empty_firm.ask(asked) == [
        ("2025-03-31", "2025-04-07"),
        ("2025-04-23", "2025-04-28"),
        ("2025-06-08", "2025-06-10"),
    ]


def test_a_number_of_the_call_is_no_door_beside_one_of_the_job(empty_firm):
    rows = [[f"R{400 + n}", day(n), f"J{n}", f"Leaf {n} drags on the sill", day(n + 3)] for n in range(1, 7)]
    calls = [["Ref", "Reported", "Job", "Issue", "Attended"], *rows]
    write_sheets(empty_firm.folder / "doors.xlsx", {"Doors": [DOORS, *map(door, range(1, 7))], "Calls": calls})
    matched(empty_firm, "doors.xlsx")
    empty_firm.take_in()
    asked = "SELECT callback_id, install_id, job_no FROM callbacks WHERE callback_id = 'R401'"
    ((number, install, job),) = empty_firm.ask(asked)
    assert (number, {install, job} - {None}) == ("R401", {"J1"})


@pytest.mark.parametrize("note", ["Team left blank = same team as the line above.", "Blank = as above"])
def test_a_note_that_a_blank_is_as_above(empty_firm, note):
    teams = ["Elm", None, "Elm", "Ash", None, "Ash"]
    rows = [[note], [], DOORS, *(door(number, team) for number, team in enumerate(teams, start=1))]
    write_sheets(empty_firm.folder / "doors.xlsx", {"Doors": rows})
    matched(empty_firm, "doors.xlsx")
    empty_firm.take_in()
    teams = empty_firm.ask("SELECT crew FROM installs ORDER BY install_id")
    assert teams == [("Elm",), ("Elm",), ("Elm",), ("Ash",), ("Ash",), ("Ash",)]


def test_a_crew_is_as_above_where_it_is_blank_only_beside_a_blank_day(empty_firm):
    fitted = [day(1), "", day(3), day(4), "", day(6), day(8), ""]
    teams = ["Elm", None, "Elm", "Ash", None, "Ash", "Ash", None]
    doors = [door(number, team, at) for number, (team, at) in enumerate(zip(teams, fitted, strict=True), start=1)]
    write_sheets(empty_firm.folder / "doors.xlsx", {"Doors": [DOORS, *doors]})
    matched(empty_firm, "doors.xlsx")
    empty_firm.take_in()
    assert empty_firm.account("installs") == (8, 8, 0, 0)
    assert empty_firm.ask("SELECT crew FROM installs WHERE install_id IN ('J2', 'J8') ORDER BY 1") == [
        ("Ash",),
        ("Elm",),
    ]


def test_lines_that_count_the_doors_above_are_no_doors(empty_firm):
    rows = [DOORS, door(1), door(2), ["January: 2 doors"], door(3), ["1 door", None, None, None, None, 3]]
    write_sheets(empty_firm.folder / "doors.xlsx", {"Doors": [*rows, ["Q1 total: 3 doors"]]})
    assert "Doors: rows 4, 6, 7 passed over: totals" in matched(empty_firm, "doors.xlsx").notes
    empty_firm.take_in()
    assert empty_firm.account("installs") == (3, 3, 0, 0)


def test_joints_to_the_wall_on_the_left_the_right_and_at_the_top(empty_firm):
    heads = [*DOORS, "Joint to wall left [mm]", "Joint to wall right [mm]", "Joint to wall top [mm]"]
    write_sheets(empty_firm.folder / "doors.xlsx", {"Doors": [heads, *([*door(n), 8, 9, 10] for n in (1, 2, 3))]})
    matched(empty_firm, "doors.xlsx")
    empty_firm.take_in()
    asked = "SELECT measure, member, station, value FROM readings WHERE install_id = 'J1' ORDER BY value"
    assert empty_firm.ask(asked) == [
        ("perimeter_gap", "left_jamb", None, 8),
        ("perimeter_gap", "right_jamb", None, 9),
        ("perimeter_gap", "head", None, 10),
    ]


def test_boxes_for_failing_count_under_a_title_as_those_for_passing_do(empty_firm):
    """Before, only the ticks under Yes came in, and nothing ever failed."""

    def form(number, failed):
        boxes = [
            [check, None if check in failed else "✓", "✓" if check in failed else None]
            for check in ("Cill bedded along full length", "Drainage slots clear", "Track clean")
        ]
        return [
            ["FITTING SHEET"],
            ["Door no.", f"J{number}", None, "Fitters", "Elm"],
            ["Fitted", day(number), None, "Frame width mm", 3000],
            [],
            ["Checks before leaving", "Yes", "No"],
            *boxes,
        ]

    failing = {1: ("Track clean",), 2: (), 3: ("Drainage slots clear", "Track clean")}
    write_sheets(empty_firm.folder / "forms.xlsx", {f"J{n}": form(n, failed) for n, failed in failing.items()})
    matched(empty_firm, "forms.xlsx")
    empty_firm.take_in()
    asked = "SELECT outcome, count(*) FROM checks GROUP BY ALL ORDER BY ALL"
    assert empty_firm.ask(asked) == [("fail", 3), ("pass", 6)]


def test_rows_under_a_title_of_a_form_and_initials_in_its_boxes(empty_firm):
    def form(number, initials):
        return [
            ["JOINERY WORKSHOP"],
            ["Job no.", f"J{number}", None, "Installed by", "Elm"],
            ["Date installed", day(number), None, "Frame width mm", 3000],
            [],
            ["SILL (mm above lowest point)"],
            [None, "Left end", "Right end"],
            ["Level reading", 0, number],
            [],
            ["FRAME DIAGONALS"],
            ["Bottom left - top right", 3660],
            ["Top left - bottom right", 3661],
            [],
            ["CHECKLIST", "Initial when done"],
            ["Opening checked, clean and square", initials],
            ["Sill fully bedded", initials],
            ["Doors fold freely", "no"],
            ["Track cleaned out", None],
        ]

    write_sheets(empty_firm.folder / "forms.xlsx", {f"J{n}": form(n, "PM" if n < 3 else "SF") for n in (1, 2, 3)})
    matched(empty_firm, "forms.xlsx")
    empty_firm.take_in()
    asked = (
        "SELECT measure, station, value FROM readings WHERE install_id = 'J2' AND measure <> 'frame_width' ORDER BY ALL"
    )
    assert empty_firm.ask(asked) == [
        ("frame_diagonal", "falling", 3661),
        ("frame_diagonal", "rising", 3660),
        ("sill_height", "left", 0),
        ("sill_height", "right", 2),
    ]
    # an opening that is clean and square is more than the check of a clean one
    asked = 'SELECT "check", outcome, count(*) FROM checks GROUP BY ALL ORDER BY ALL'
    assert empty_firm.ask(asked) == [("folds_freely", "fail", 3), ("sill_bedded", "pass", 3)]


def test_initials_where_nothing_says_so_are_left_to_a_person(empty_firm):
    rows = [[*DOORS, "Sill bedded"], *([*door(number), "PM"] for number in (1, 2, 3))]
    write_sheets(empty_firm.folder / "doors.xlsx", {"Doors": rows})
    assert "checks" not in matched(empty_firm, "doors.xlsx").proposals[0].columns


@pytest.mark.parametrize(
    ("note", "expected"), [("Plumb: + = leans out.", ("jamb_face", 2)), ("Plumb: + = to the right", ("jamb_edge", 2))]
)
def test_the_plane_of_a_jamb_is_that_of_the_way_that_a_note_names(empty_firm, note, expected):
    rows = [[note], [], [*DOORS, "Plumb left jamb"], *([*door(number), 2] for number in (1, 2, 3))]
    write_sheets(empty_firm.folder / "doors.xlsx", {"Doors": rows})
    matched(empty_firm, "doors.xlsx")
    empty_firm.take_in()
    assert empty_firm.ask("SELECT DISTINCT measure, value FROM readings") == [expected]


def test_numbers_that_fit_two_units_are_in_the_one_that_the_title_says(empty_firm):
    heads = [*DOORS[:3], *DOORS[5:], "Panel 1 reveals - top, hinge side", "Panel 1 reveals - top, lock side"]
    rows = [[*door(n)[:3], *door(n)[5:], value, 0.25] for n, value in ((1, 0.1875), (2, 0.25), (3, 0.3125))]
    write_sheets(empty_firm.folder / "qc.xlsx", {"QC": [["QC - all dimensions in inches"], [], heads, *rows]})
    matched(empty_firm, "qc.xlsx")
    empty_firm.take_in()
    asked = "SELECT measure, station, value FROM readings WHERE install_id = 'J2' ORDER BY ALL"
    assert empty_firm.ask(asked) == [("head_gap", "hinge", 6.35), ("head_gap", "lock", 6.35)]


@pytest.mark.parametrize(
    ("cells", "expected"),
    [
        (("28mm DGU", "36mm TGU", "24"), [28, 36, 24]),
        (("4-20-4", "28 (4-20-4)", "36 mm triple glazed (4/12/4/12/4)"), [28, 28, 36]),
    ],
)
def test_glass_with_what_the_unit_is(empty_firm, cells, expected):
    rows = [[*DOORS, "Glass"], *([*door(number), cell] for number, cell in enumerate(cells, start=1))]
    write_sheets(empty_firm.folder / "doors.xlsx", {"Doors": rows})
    matched(empty_firm, "doors.xlsx")
    empty_firm.take_in()
    assert [glass for (glass,) in empty_firm.ask("SELECT glass_mm FROM installs ORDER BY install_id")] == expected


@pytest.mark.parametrize("text", ["28mm or 36mm", "30 (4-20-4)", "see order", "28/36", "toughened"])
def test_glass_that_says_something_else_is_as_it_is(text):
    assert thickness_in(text) == text


@pytest.mark.parametrize(
    ("heading", "words", "unit"),
    [
        ("OverallWidthMM", ("overall", "width"), "mm"),
        ("SillL", ("sill", "l"), None),
        ("CostExGST", ("cost", "ex", "gst"), None),
        ("HoursOnSite", ("hours", "site"), None),
        ("Force kN", ("force", "kn"), None),
        ("PVCu", ("pvcu",), None),
    ],
)
def test_words_that_only_capitals_tell_apart(heading, words, unit):
    assert (words_of(heading), split_unit(heading)[1]) == (words, unit)


@pytest.mark.parametrize(("arrow", "station"), [("↗", "rising"), ("↘", "falling")])
def test_an_arrow_draws_the_diagonal(arrow, station):
    meaning = reading_meaning(f"Frame diagonal {arrow}")
    assert (meaning.name, meaning.place.station) == ("frame_diagonal", station)


def test_the_plane_of_a_jamb_is_that_of_the_ways_in_its_cells(empty_firm):
    cells = ["2 out", "1 in", "0"]
    rows = [[*DOORS, "LH jamb plumb"], *([*door(n), cell] for n, cell in enumerate(cells, start=1))]
    write_sheets(empty_firm.folder / "doors.xlsx", {"Doors": rows})
    matched(empty_firm, "doors.xlsx")
    empty_firm.take_in()
    asked = "SELECT measure, value FROM readings ORDER BY install_id"
    assert empty_firm.ask(asked) == [("jamb_face", 2), ("jamb_face", -1), ("jamb_face", 0)]


@pytest.mark.parametrize(("heading", "cells", "hours"), [("MinutesOnSite", (90, 30, 60), [1.5, 0.5, 1])])
def test_minutes_by_a_heading_in_one_word(empty_firm, heading, cells, hours):
    rows = [(n, (day(n + 9), day(n + 10), cell)) for n, cell in enumerate(cells, start=1)]
    write_sheets(empty_firm.folder / "doors.xlsx", {"Doors": [DOORS, *map(door, range(1, 7))]})
    write_sheets(empty_firm.folder / "calls.xlsx", {"Calls": log(("Rang", "Attended", heading), rows)})
    together(empty_firm, "calls.xlsx", "doors.xlsx")
    empty_firm.take_in()
    assert [one for (one,) in empty_firm.ask("SELECT hours FROM callbacks ORDER BY callback_id")] == hours


def test_words_that_only_another_week_writes_mean_the_same_in_all_weeks(empty_firm):
    """The sheet with most rows does not write them all."""
    write_sheets(empty_firm.folder / "doors.xlsx", {"Doors": [DOORS, *map(door, range(1, 7))]})
    caused = {"Wk 1": ["weather", "wear", "weather"], "Wk 2": ["our fitting"], "Wk 3": ["maker"]}
    weeks, number = {}, 0
    for name, words in caused.items():
        weeks[name] = [["Called in", "Visited", "Job no", "Problem", "Caused by"]]
        for word in words:
            number += 1
            weeks[name].append([day(40 + number), day(41 + number), f"J{number}", f"Leaf {number} drags again", word])
    write_sheets(empty_firm.folder / "visits.xlsx", weeks)
    together(empty_firm, "doors.xlsx", "visits.xlsx")
    empty_firm.take_in()
    assert empty_firm.set_aside() == []
    found = empty_firm.ask("SELECT responsibility FROM callbacks ORDER BY reported_on")
    assert found == [("weather",), ("wear",), ("weather",), ("installation",), ("product",)]

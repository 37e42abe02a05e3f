"""Where a heading says a reading was taken, and which column numbers the doors: said plainly, or left to a person.

A wrong place is worse than none. How such headings are written is common practice, no source.
"""

import pytest

from pipeline.ingest.matching.columns.evidence import look_at
from pipeline.ingest.matching.match import match_files
from pipeline.ingest.matching.words.meaning import SURE, check_meaning, of_ticks, reading_meaning
from pipeline.ingest.matching.words.signs import without_sign
from pipeline.ingest.matching.words.vocabulary import words_of
from tests.ingest.conftest import Firm
from tests.ingest.matching.test_match import add_doors, day, matched, write_sheets


@pytest.mark.parametrize(
    ("heading", "place"),
    [
        ("Cill level from left end / 750", "750"),
        ("Sill height 300 from LH", "300"),
        ("Sill level at 90 cm", "900"),
        ('Sill 36"', "914.4"),
        ("Sill level 1.5m", "1500"),
        ("Left jamb edge at 1.05 m", "1050"),
        ("Sill level 25%", "left / quarter"),
        ("Sill level LH end", "left / left"),
        ("Perimeter gap head left", "head / left"),
        ("Sill packers left", "sill / left"),
    ],
)
def test_distances_and_ends_in_a_heading(heading, place):
    found = reading_meaning(heading)
    assert found.sure >= SURE
    said = found.place.position_mm or f"{found.place.member or 'left'} / {found.place.station}"
    assert said == place
    assert found.unit is None


@pytest.mark.parametrize(
    "heading",
    [
        "Sill level 750 from right",
        "Cill level from RH end / 750",
        "Left jamb edge 300 from top",
        "Fixing 1 left jamb from top",
        "Fixing left jamb top",
        "Fixing head 1 from right",
        "Sill level 60%",
        "Head level L",
        "Sill L low (mm)",
        "Sill fall in L",
        "Jamb L out of plumb top",
        "Sill level L before",
        "Initial head gap leaf 1 hinge",
        "Head fixing spacing",
        "No of fixings left jamb",
        "Glass diag",
        "Locking force",
        "Clear opening width",
        "Top track level L",
        "Head track level C",
        "Sill cover gap L",
    ],
)
def test_what_is_something_else_is_left_to_a_person(heading):
    meaning = reading_meaning(heading)
    assert meaning is None or meaning.sure < SURE


@pytest.mark.parametrize(
    "heading",
    [
        "Sill level L (+ = low)",
        "Sill tilt R (mm, + is in)",
        "Left jamb face top (- = out)",
        "Jamb L edge top (+ = to left)",
    ],
)
def test_what_is_counted_the_other_way_is_turned(heading):
    meaning = reading_meaning(heading)
    assert (meaning.sure >= SURE, meaning.is_turned) == (True, True)


def test_how_deep_a_sill_dips_is_turned_by_its_numbers_alone():
    meaning = reading_meaning("Sill dip centre")
    assert (meaning.dips, meaning.is_turned) == ("dip", False)


@pytest.mark.parametrize(
    ("heading", "measure"),
    [
        ("Sill level L (+ = high)", "sill_height"),
        ("2. Sill level L (mm, + high - low)", "sill_height"),
        ("Sill level L (- = low)", "sill_height"),
        ("Left jamb face top (+ out)", "jamb_face"),
        ("Jamb in/out LH top", "jamb_face"),
        ("Sill level C +/- mm", "sill_height"),
    ],
)
def test_a_heading_may_say_which_way_is_plus(heading, measure):
    found = reading_meaning(heading)
    assert found.name == measure
    assert found.place.left == ()
    assert found.sure >= SURE


@pytest.mark.parametrize(
    "heading",
    [
        "Locks not operating",
        "Drain blocked",
        "Beads missing",
        "Caps off",
        "Lock issues",
        "Toe and heel needed",
        "Folds stiff",
        "Rollers damaged",
        "Handle loose",
        "Sill not bedded",
        "No track cleaned",
    ],
)
def test_a_check_whose_yes_is_a_fault_is_left_to_a_person(heading):
    """Before, a tick under it was a pass."""
    assert of_ticks(check_meaning(heading)).sure < SURE


def test_a_check_may_say_more_than_its_name():
    assert of_ticks(check_meaning("Drainage slots clear and free of mortar")).name == "drainage_clear"
    assert of_ticks(check_meaning("Drainage slots clear and free of mortar")).sure >= SURE


def test_a_plus_may_join_two_things():
    assert without_sign("Parts + Labor $") == ("Parts + Labor $", "")


def test_a_number_before_a_heading_is_no_part_of_it_but_that_of_a_leaf_is():
    assert words_of("4. Customer name") == ("customer", "name")
    assert words_of("B) Sill level") == ("sill", "level")
    assert words_of("2. Leaf head gap")[0] == "2"


def test_degrees_without_their_sign_are_numbers():
    assert look_at(["12c", "9 C", "14 deg", "11"]).numbers == 1.0


def test_only_from_track_to_track_is_a_track_a_clear_height():
    assert reading_meaning("Track to track L").name == "clear_height"
    assert reading_meaning("Track wear L") is None


def test_what_is_clear_over_a_leaf_is_its_gap():
    assert reading_meaning("Head clr hinge").name == "head_gap"
    assert reading_meaning("Head clr hinge").sure >= SURE


def test_a_rough_opening_is_the_aperture():
    assert reading_meaning("RO Width Top").name == "aperture_width"
    assert reading_meaning("MO H left").name == "aperture_height"


ROWS = [
    ["B4410", "Ash", "2025-02-03", "3000", "2100", "3"],
    ["B4411", "Elm", "2025-02-13", "3200", "2100", "4"],
    ["B4412", "Ash", "2025-03-01", "3300", "2150", "4"],
    ["B4413", "Elm", "2025-03-11", "2900", "2050", "3"],
]
HEAD = ["Job #", "Team", "Fitted", "W (mm)", "H (mm)", "Leaves"]


@pytest.mark.parametrize(
    ("heading", "numbers"),
    [
        ("No.", ["1", "2", "3", "4"]),
        ("Permit #", ["BP-3", "BP-1", "BP-8", "BP-2"]),
        ("Key no", ["11", "12", "15", "19"]),
    ],
)
def test_lines_permits_and_keys_number_no_doors_where_jobs_do(empty_firm: Firm, heading, numbers) -> None:
    rows = [[number, *row] for number, row in zip(numbers, ROWS, strict=True)]
    empty_firm.write("Log.csv", "\n".join(",".join(row) for row in [[heading, *HEAD], *rows]))
    match_files([empty_firm.folder / "Log.csv"], is_terminal=False)
    empty_firm.take_in()
    assert empty_firm.ask("SELECT install_id, job_no FROM installs ORDER BY 1") == [(row[0], row[0]) for row in ROWS]


def test_a_sign_for_number_is_one():
    assert words_of("Unit #") == ("unit", "number")
    assert words_of("Leaf #2 head gap") == ("leaf", "2", "head", "gap")


def test_doors_numbered_from_one_keep_their_numbers(empty_firm: Firm) -> None:
    rows = [[str(n), *row] for n, row in enumerate(ROWS, 1)]
    empty_firm.write("Log.csv", "\n".join(",".join(row) for row in [["Door no.", *HEAD], *rows]))
    match_files([empty_firm.folder / "Log.csv"], is_terminal=False)
    empty_firm.take_in()
    assert empty_firm.ask("SELECT install_id, job_no FROM installs ORDER BY 1")[0] == ("1", "B4410")


def test_stations_from_an_end_come_in_at_their_distance(empty_firm: Firm) -> None:
    add_doors(empty_firm, ["D1", "D2"])
    empty_firm.write("levels.csv", "Job,Cill 0 from left,Cill 750 from left,Cill 300 from right\nD1,0,1,2\nD2,0,-1,1\n")
    assert matched(empty_firm, "levels.csv").n_placed == 3
    empty_firm.take_in()
    found = empty_firm.ask("SELECT position_mm, value FROM readings WHERE install_id = 'D1' ORDER BY 1")
    assert found == [(0.0, 0.0), (750.0, 1.0)]


def test_a_member_among_ends_of_leaves_is_the_member(empty_firm):
    """One column says where: the jamb of a gap to the wall, the end of a leaf's gap."""
    add_doors(empty_firm, [f"B{number}" for number in range(1, 9)])
    lines = ["Door ref;What;Where;Leaf;Result;Unit"]
    for number in range(1, 9):
        rows = ["Gap to wall;Left jamb;;6;mm", "Gap to wall;right jamb;;7;mm", "Head gap;hinge side;1;4;mm"]
        rows += ["Head gap;lock side;1;5;mm", "Running force;;1;40;N"]
        lines += [f"B{number};{row}" for row in rows]
    empty_firm.write("pad.csv", "\n".join(lines))
    matched(empty_firm, "pad.csv")
    empty_firm.take_in()
    found = "SELECT measure, member, station, value FROM readings WHERE install_id = 'B3' ORDER BY ALL"
    assert empty_firm.ask(found) == [
        ("head_gap", "leaf_1", "hinge", 4), ("head_gap", "leaf_1", "lock", 5),
        ("perimeter_gap", "left_jamb", None, 6), ("perimeter_gap", "right_jamb", None, 7),
        ("running_force", "leaf_1", None, 40),
    ]  # fmt: skip


@pytest.mark.parametrize("heading", ["Clear height head", "Clear height / head / C", "clear height under head"])
def test_the_members_that_a_clear_height_is_between_leave_no_doubt(heading):
    meaning = reading_meaning(heading)
    assert (meaning.name, meaning.sure >= SURE, meaning.place.left) == ("clear_height", True, ())


def test_what_is_clear_at_the_head_may_be_a_gap():
    meaning = reading_meaning("Head clear")
    assert meaning is None or meaning.sure < SURE


def test_a_corner_under_diagonals_of_the_opening_is_one_of_the_opening():
    """Before, it was read as a diagonal of the frame."""
    found = reading_meaning("Opening diagonals / Corner BL-TR")
    assert (found.name, found.place.station, found.sure >= SURE) == ("aperture_diagonal", "rising", True)


def test_plots_are_jobs_of_doors_that_their_position_tells_apart(empty_firm):
    heads = ["Plot / position", "Plot", "Gang", "Fixed", "Plot handover"]
    rows = [
        [f"{plot} {room}", plot, "Gang 4", day(plot), day(plot + 3)]
        for plot in (20, 21, 22)
        for room in ("Kitchen", "Lounge")
    ]
    write_sheets(empty_firm.folder / "plots.xlsx", {"Plots": [heads, *rows]})
    matched(empty_firm, "plots.xlsx")
    empty_firm.take_in()
    found = empty_firm.ask("SELECT install_id, job_no, handed_over_on FROM installs ORDER BY 1")
    assert found[1] == ("20 Lounge", "20", day(23).date())
    assert len(found) == 6


@pytest.mark.parametrize(
    ("heading", "is_sure"),
    [
        ("Packers at hinges, number of 1 mm packers / Leaf 2 / Hinge 3", True),
        ("Packers at hinges, number of 2 mm packers / Leaf 2 / Hinge 3", False),
        ("Packers at hinges, count of 1.5 mm shims / Leaf 2 / Hinge 3", False),
        ("Seal squash - mm / Leaf 2 / Point 3", True),
        ("Seal squash - inches / Leaf 2 / Point 3", True),
        ("Jamb plumb (viewed from inside) / LH face", True),
        ("Jamb plumb, looking from the inside / RH edge", True),
        ("Jamb plumb (viewed from outside) / LH face", False),
        ("Jamb plumb (seen from inside or outside) / LH face", False),
        ("Jamb plumb inside / LH face", False),
    ],
)
def test_a_title_may_say_what_is_counted_and_from_where_it_is_seen(heading, is_sure):
    found = reading_meaning(heading)
    assert (found.sure >= SURE) == is_sure


def test_inches_set_off_in_a_title_are_those_of_what_stands_under_it():
    assert reading_meaning("Seal squash - in / Leaf 2 / Point 3").unit == "in"
    assert reading_meaning("Seal squash - inches / Leaf 2 / Point 3").unit == "in"
    assert reading_meaning("Jamb lean, in / out / LH").unit is None

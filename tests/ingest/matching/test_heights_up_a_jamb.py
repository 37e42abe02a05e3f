"""Jambs and their fixings read at heights that are counted up from the foot, all invented.

A value without the height it was read at is worse than none. How such sheets look is common practice, no source.
"""

import pytest

from pipeline.ingest.matching.words.meaning import SURE, reading_meaning
from tests.ingest.matching.test_match import add_doors, day, matched, write_sheets

HEIGHTS = ["250 mm up", "at 1.1 m up", "1900 up"]


def form(number, leaves=()):
    facts = [["Plot:", f"P{number}", None, "Installed:", day(number)], ["Gang:", "Elm", None, "Width:", 3000], []]
    jambs = [["Uprights, mm off a straight edge", *HEIGHTS], ["Left upright out of plumb, front to back", 7, 8, number]]
    jambs += [["Left upright out of plumb, in line with the wall", 11, 12, 13]]
    return [*facts, *jambs, [], *leaves]


def test_a_row_under_heights_is_read_at_each_of_them(empty_firm):
    write_sheets(empty_firm.folder / "forms.xlsx", {f"P{number}": form(number) for number in (1, 2)})
    matched(empty_firm, "forms.xlsx")
    empty_firm.take_in()
    read = "SELECT measure, position_mm, value FROM readings WHERE install_id = 'P2' ORDER BY ALL"
    assert empty_firm.ask(read) == [
        ("jamb_edge", 250, 11), ("jamb_edge", 1100, 12), ("jamb_edge", 1900, 13),
        ("jamb_face", 250, 7), ("jamb_face", 1100, 8), ("jamb_face", 1900, 2),
    ]  # fmt: skip


@pytest.mark.parametrize("heads", [["Jambs", "Mark P", "Mark Q"], ["Jambs"]])
def test_one_of_several_values_is_not_taken_without_where_it_was_read(empty_firm, heads):
    """Where nobody can say how high the marks are, no value is read as if it stood alone."""
    facts = {number: form(number)[:3] for number in (1, 2)}
    rows = [heads, ["Left jamb plumb, in and out", 7, 8], ["Sill level, left end", 2], ["Weeps clear", "yes"]]
    write_sheets(empty_firm.folder / "forms.xlsx", {f"P{number}": [*facts[number], *rows] for number in (1, 2)})
    matched(empty_firm, "forms.xlsx")
    empty_firm.take_in()
    found = "SELECT measure, station FROM readings WHERE position_mm IS NULL OR position_mm = 0"
    assert set(empty_firm.ask(found)) == {("sill_height", "left")}


@pytest.mark.parametrize("corner", ["Uprights, mm off a straight edge", None])
@pytest.mark.parametrize("heights", [[250, 1100, 1900], ["250mm", "1100mm", "1900mm"]])
def test_bare_heights_over_the_rows_of_a_jamb(empty_firm, corner, heights):
    """What stands under them and is no jamb's has no height."""

    def bare(number):
        rows = form(number)
        rows[3] = [corner, *heights]
        return [*rows[:-1], ["Frame diagonals mm", 4242, 4243, None], []]

    write_sheets(empty_firm.folder / "forms.xlsx", {f"P{number}": bare(number) for number in (1, 2)})
    matched(empty_firm, "forms.xlsx")
    empty_firm.take_in()
    read = "SELECT measure, position_mm, value FROM readings WHERE install_id = 'P2' AND measure = 'jamb_edge'"
    assert empty_firm.ask(f"{read} ORDER BY ALL") == [
        ("jamb_edge", 250, 11), ("jamb_edge", 1100, 12), ("jamb_edge", 1900, 13),
    ]  # fmt: skip
    assert empty_firm.ask("SELECT count(*) FROM readings WHERE measure LIKE 'frame%' AND position_mm > 0") == [(0,)]


def test_sizes_over_the_rows_of_a_jamb_are_no_heights(empty_firm):
    def sized(number):
        rows = form(number)
        rows[3] = ["Head to sill mm", 2118, 2121, 2122]
        return rows

    write_sheets(empty_firm.folder / "forms.xlsx", {f"P{number}": sized(number) for number in (1, 2)})
    matched(empty_firm, "forms.xlsx")
    empty_firm.take_in()
    assert empty_firm.ask("SELECT count(*) FROM readings WHERE position_mm > 2000") == [(0,)]


def test_a_yes_beside_a_no_is_the_answer_to_two_checks_and_no_heading(empty_firm):
    def leaves(*answers):
        head = ["Leaf", "Top gap hinge side", "Toe and heel", "Beads in"]
        return [head, *([at, 4, *said] for at, said in enumerate(answers, start=1))]

    mixed, plain = leaves(("yes", "no"), ("yes", "yes")), leaves(("yes", "yes"), ("yes", "yes"))
    write_sheets(empty_firm.folder / "forms.xlsx", {"P1": form(1, plain), "P2": form(2, mixed)})
    matched(empty_firm, "forms.xlsx")
    empty_firm.take_in()
    seen = "SELECT member, \"check\", outcome FROM checks WHERE install_id = 'P2' ORDER BY ALL"
    assert empty_firm.ask(seen) == [
        ("leaf_1", "beads_seated", "fail"), ("leaf_1", "toe_and_heel", "pass"),
        ("leaf_2", "beads_seated", "pass"), ("leaf_2", "toe_and_heel", "pass"),
    ]  # fmt: skip


def test_fixings_up_from_the_sill_named_in_one_column_and_numbered_in_another(empty_firm):
    add_doors(empty_firm, ["D1", "D2"])
    rows = [["Door", "What was read", "Where", "mm"]]
    for door in ("D1", "D2"):
        for at, value in enumerate((160, 800, 1410), start=1):
            rows += [[door, "Fixings RH jamb, measured up from the cill", at, value]]
    write_sheets(empty_firm.folder / "Read.xlsx", {"Read": rows})
    matched(empty_firm, "Read.xlsx")
    empty_firm.take_in()
    read = "SELECT measure, member, value FROM readings WHERE install_id = 'D2' ORDER BY value"
    assert empty_firm.ask(read) == [("fixing", "right_jamb", value) for value in (160, 800, 1410)]


@pytest.mark.parametrize(
    ("heading", "position"),
    [("Left jamb plumb in line with the wall 1800 mm up from sill", "1800"), ("RH jamb front to back, 300 up", "300")],
)
def test_a_height_up_a_jamb_is_its_place(heading, position):
    found = reading_meaning(heading)
    assert found.sure >= SURE
    assert (found.place.position_mm, found.place.left) == (position, ())


@pytest.mark.parametrize(
    ("heading", "measure"),
    [
        ("Left jamb in plane, off line at height / 1200", "jamb_edge"),
        ("LH jamb in/out, height 1200", "jamb_face"),
        ("Left jamb in and out, heights above cill (mm) / 1200", "jamb_face"),
        ("Left jamb front to back, at a height of 1.2 m", "jamb_face"),
        ("Left jamb in line with the wall / 1200 mm height", "jamb_edge"),
    ],
)
def test_the_word_height_beside_its_number_is_understood(heading, measure):
    found = reading_meaning(heading)
    assert found.sure >= SURE
    assert (found.name, found.place.member, found.place.position_mm) == (measure, "left_jamb", "1200")


@pytest.mark.parametrize("heading", ["Left jamb in plane, frame height 2100", "Left jamb in plane, door height"])
def test_a_height_that_is_a_size_is_no_place_on_a_jamb(heading):
    assert reading_meaning(heading).sure < SURE


def test_bare_heights_under_a_heading_that_says_height(empty_firm):
    """The heading is merged over its numbers, as a foreman's job book has it."""
    heads = ["Door no", "Crew", "Fitted", "Right jamb, in/out, off line at height"]
    doors = [[f"K{number}", "Elm", day(number), 9, 10, 8 + number] for number in (1, 2, 3)]
    rows = [heads, [None, None, None, 150, 1050, 1950], *doors]
    write_sheets(empty_firm.folder / "book.xlsx", {"Jobs": rows}, merges=[("Jobs", "D1:F1")])
    matched(empty_firm, "book.xlsx")
    empty_firm.take_in()
    read = "SELECT measure, member, position_mm, value FROM readings WHERE install_id = 'K3' ORDER BY ALL"
    assert empty_firm.ask(read) == [
        ("jamb_face", "right_jamb", 150, 9), ("jamb_face", "right_jamb", 1050, 10),
        ("jamb_face", "right_jamb", 1950, 11),
    ]  # fmt: skip


def test_what_is_counted_down_from_the_head_is_left_to_a_person():
    found = reading_meaning("Fixing left jamb, down from the head 2")
    assert found.sure < SURE


@pytest.mark.parametrize("title", ["Jamb plumb (mm off the plumb line)", "Jambs, mm off plumb line"])
def test_what_a_jamb_is_measured_off_is_no_word_of_doubt(title):
    found = reading_meaning(f"{title} / Left jamb edge")
    assert found is not None
    assert (found.name, found.place.member, found.sure >= SURE) == ("jamb_edge", "left_jamb", True)


@pytest.mark.parametrize("heading", ["Left jamb in out over height 2100", "Left jamb in out per height 2000"])
def test_what_is_read_over_a_height_is_not_read_at_it(heading):
    assert reading_meaning(heading).sure < SURE


@pytest.mark.parametrize(
    ("heading", "measure", "position"),
    [
        ("Left jamb in plane top (2000 mm)", "jamb_edge", "2000"),
        ("Left jamb plumb in plane middle (1050)", "jamb_edge", "1050"),
        ("Left jamb face at top, 1900 mm", "jamb_face", "1900"),
        ("Right jamb face, upper (2.1 m)", "jamb_face", "2100"),
        ("Jambs out of plumb, in or out, off plumb line at height (mm) / LH jamb / 300", "jamb_face", "300"),
        ("Jamb face, height mm / Right / 1200", "jamb_face", "1200"),
    ],
)
def test_a_height_may_be_said_in_a_word_and_a_number_and_over_its_numbers(heading, measure, position):
    found = reading_meaning(heading)
    assert found is not None
    assert (found.name, found.place.position_mm) == (measure, position)
    assert found.sure >= SURE
    assert found.place.member


@pytest.mark.parametrize("heading", ["Left jamb face top (100 mm)", "Left jamb face, top, 1500 below head"])
def test_a_number_that_may_be_counted_down_from_the_top_is_left_to_a_person(heading):
    found = reading_meaning(heading)
    assert found is None or found.sure < SURE

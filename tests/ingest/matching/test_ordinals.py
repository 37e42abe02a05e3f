"""Leaves and points that are numbered as first, second, third. All invented; common practice, no source."""

import pytest

from pipeline.ingest.matching.words.meaning import SURE, check_meaning, of_ticks, reading_meaning
from tests.ingest.matching.test_match import day, matched, write_sheets


@pytest.mark.parametrize(
    ("heading", "name", "member", "station"),
    [
        ("Fixings / Left jamb / 2nd", "fixing", "left_jamb", "2"),
        ("Fixings / Left jamb / Third", "fixing", "left_jamb", "3"),
        ("1st leaf head gap hinge", "head_gap", "leaf_1", "hinge"),
        ("Head gap / 4TH leaf / lock", "head_gap", "leaf_4", "lock"),
        ("Packers / 2nd hinge / leaf 1", "hinge_packers", "leaf_1", "2"),
    ],
)
def test_an_ordinal_numbers_as_a_number_does(heading, name, member, station):
    found = reading_meaning(heading)
    assert (found.name, found.place.member, found.place.station, found.sure >= SURE) == (name, member, station, True)


@pytest.mark.parametrize(
    "heading",
    [
        "Head gap hinge, 2nd visit",
        "Head gap 2nd fix hinge",
        "Head gap hinge 2nd reading",
        "Running force, 2nd floor",
    ],
)
def test_an_ordinal_of_a_visit_a_reading_or_a_stage_is_no_leaf(heading):
    found = reading_meaning(heading)
    assert found is None or found.sure < SURE


def test_a_check_seen_again_is_none_of_the_second_leaf():
    for heading in ("Toe and heel 2nd visit", "Toe and heel (2nd)"):
        found = check_meaning(heading)
        assert found is None or of_ticks(found).sure < SURE
    assert check_meaning("Toe and heel 2nd leaf").place.member == "leaf_2"


@pytest.mark.parametrize("nth", [("1st", "2nd", "3rd"), ("First", "Second", "Third")])
def test_a_table_of_a_form_may_head_its_columns_so(empty_firm, nth):
    def form(at):
        rows = [["Door no", f"D{at}"], ["Crew", "Elm"], ["Fitted", day(at)], []]
        jambs = [["Left jamb", 150 + at, 700, 1300], ["Right jamb", 160 + at, 710, 1310]]
        return [*rows, ["Fixings, mm up from bottom", *nth], *jambs]

    write_sheets(empty_firm.folder / "forms.xlsx", {f"D{at}": form(at) for at in (1, 2, 3)})
    matched(empty_firm, "forms.xlsx")
    empty_firm.take_in()
    assert empty_firm.ask("SELECT member, station, value FROM readings WHERE install_id = 'D2' ORDER BY ALL") == [
        ("left_jamb", "1", 152.0), ("left_jamb", "2", 700.0), ("left_jamb", "3", 1300.0),
        ("right_jamb", "1", 162.0), ("right_jamb", "2", 710.0), ("right_jamb", "3", 1310.0),
    ]  # fmt: skip
    assert empty_firm.ask("SELECT DISTINCT substrate FROM installs") == [(None,)]


def test_what_a_wall_is_made_of_is_said_in_words(empty_firm):
    doors = [["Door", "Crew", "Fitted", "Fixings"]]
    write_sheets(
        empty_firm.folder / "a.xlsx", {"A": [*doors, *([f"D{at}", "Elm", day(at), f"{at}x"] for at in (1, 2, 3))]}
    )
    matched(empty_firm, "a.xlsx")
    assert "substrate" not in (empty_firm.folder / "fitback.toml").read_text()

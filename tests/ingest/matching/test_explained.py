"""Words of a firm's own in headings, explained by a note over them. All invented."""

import pytest

from pipeline.ingest.matching.readings.explained import explanations
from pipeline.ingest.matching.words.meaning import SURE, reading_meaning
from tests.ingest.matching.test_match import day, matched, write_sheets

READINGS = "SELECT DISTINCT measure, member, station FROM readings ORDER BY ALL"
SILL = [("sill_height", None, "centre"), ("sill_height", None, "left"), ("sill_height", None, "right")]


def take(firm, note, heads, cells):
    rows = [["INSTALL TALLY"], [note], ["Crew", "Date set", "Door #", "Width", "Height", *heads]]
    for number in range(6):
        door = ["Elm", day(number + 1), f"1-{number:02}A", '106 3/8"', '83 1/2"']
        rows.append([*door, *(some[number % len(some)] for some in cells)])
    write_sheets(firm.folder / "tally.xlsx", {"Tally": rows})
    matched(firm, "tally.xlsx")
    firm.take_in()


@pytest.mark.parametrize(
    ("note", "name"),
    [
        ("All sizes in inches. Bottom track = height above the low spot. Blank crew = same as above.", "Bottom track"),
        ("All in inches; Datum: height of sill over the lowest point", "Datum"),
        ("Inches throughout. Floor bit means the sill level above lowest point, laser = the red one.", "Floor bit"),
    ],
)
def test_a_note_says_what_was_read_along_the_sill(empty_firm, note, name):
    heights = [["1/8", "0", "1/16"], ["0", "1/16"], ["3/16", "1/8", "0"]]
    take(empty_firm, note, [f"{name} L", f"{name} M", f"{name} R"], heights)
    assert empty_firm.ask("SELECT DISTINCT measure, station FROM readings ORDER BY ALL") == [
        (measure, station) for measure, _, station in SILL
    ]
    assert empty_firm.ask("SELECT max(value) FROM readings") == [(3 / 16 * 25.4,)]


def test_words_of_the_firms_own_within_a_heading(empty_firm):
    note = "All sizes in inches. Clearance = head gap, Pull = lb to start the panel"
    heads = ["Panel 1 clearance hinge", "Panel 1 clearance lock"]
    take(empty_firm, note, heads, [["1/8", "3/16"], ["1/8", "1/4"]])
    assert empty_firm.ask(READINGS) == [("head_gap", "leaf_1", "hinge"), ("head_gap", "leaf_1", "lock")]


@pytest.mark.parametrize(
    "note",
    [
        "All in inches. Bottom track = how far below the laser",
        "All in inches. Bottom track = drop below the high spot",
        "All in inches. Bottom track = depth of dip",
        "All in inches. Bottom track = as found",
        "All in inches. Bottom track = height above the low spot. Bottom track = height of the upstand",
        "All in inches",
    ],
)
def test_a_note_that_says_another_way_or_nothing_leaves_the_heading_to_a_person(empty_firm, note):
    take(empty_firm, note, ["Bottom track L", "Bottom track R"], [["1/8", "0", "1/16"], ["0", "1/16"]])
    assert empty_firm.ask("SELECT count(*) FROM readings") == [(0,)]
    assert '"Bottom track L", "Bottom track R"' in (empty_firm.folder / "fitback.toml").read_text(encoding="utf-8")


def test_a_heading_that_says_it_itself_is_not_read_by_a_note(empty_firm):
    take(empty_firm, "All in inches. Sill = head gap", ["Sill L", "Sill R"], [["1/8", "0"], ["0", "1/16"]])
    assert {measure for measure, *_ in empty_firm.ask(READINGS)} == {"sill_height"}


def test_facts_of_a_sheet_explain_no_heading():
    assert explanations(["Site: Threshold", "Foreman - J Orr"]) == {}
    assert explanations(["Cill level: 3 L = left end 3 mm low, ok = level"]) == {}


@pytest.mark.parametrize("over", ["above the low spot", "over lowest point", "above its low end"])
def test_over_the_lowest_point_a_height_is_no_other(over):
    one = reading_meaning(f"Sill height {over} L")
    assert (one.name, one.place.station, one.is_turned, one.dips) == ("sill_height", "left", False, "")
    assert one.sure >= SURE
    assert not one.place.left


def test_what_is_packed_over_the_lowest_point_is_how_low_it_was():
    assert reading_meaning("Sill packing over low point left").sure < SURE

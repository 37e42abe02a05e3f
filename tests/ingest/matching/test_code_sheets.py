"""Short codes of headings that a sheet of their own explains, all invented.

How keys look is common practice, no source.
"""

import pytest

from pipeline.ingest.declared.mapping import RecordMap, Source
from pipeline.ingest.matching.readings.heading_key import key_of
from pipeline.ingest.matching.sheet.grid import Grid
from pipeline.ingest.matching.sheet.places_apart import places_apart
from pipeline.ingest.matching.words.vocabulary import one_meaning
from pipeline.ingest.matching.workbooks.code_sheets import codes_in, is_key
from tests.ingest.matching.test_match import day, matched, write_sheets

KEY = [
    ["Code", "Meaning"],
    ["SL-L, SL-R", "Sill level left, right, mm, + is low"],
    ["FD-1", "Frame diagonal bottom left to top right, mm"],
    ["FD-2", "Frame diagonal top left to bottom right, mm"],
    ["SG-H, SG-L", "Gap at the sill (threshold), hinge side, lock side, mm"],
]
HEADS = ["Job", "Gang", "Installed", "SL-L", "SL-R", "FD-1", "FD-2", "P1 SG-H", "P1 SG-L"]


def doors():
    return [HEADS, *([f"Q{number}", "Red", day(number), 1, 2, 3660, 3661, 4, 5] for number in (1, 2, 3))]


def pairs(rows, name="Key"):
    return codes_in(Grid(name, [list(row) for row in rows], "1900"))


def test_codes_are_read_as_the_key_says(empty_firm):
    write_sheets(empty_firm.folder / "doors.xlsx", {"Doors": doors(), "Key": KEY})
    assert ("Key", "it says what codes in headings mean") in matched(empty_firm, "doors.xlsx").unread
    empty_firm.take_in()
    asked = "SELECT measure, member, station, value FROM readings WHERE install_id = 'Q1' ORDER BY ALL"
    assert empty_firm.ask(asked) == [
        ("frame_diagonal", None, "falling", 3661),
        ("frame_diagonal", None, "rising", 3660),
        ("sill_height", "sill", "left", -1),
        ("sill_height", "sill", "right", -2),
        ("threshold_gap", "leaf_1", "hinge", 4),
        ("threshold_gap", "leaf_1", "lock", 5),
    ]


def test_codes_that_nothing_explains_are_left_to_a_person(empty_firm):
    write_sheets(empty_firm.folder / "doors.xlsx", {"Doors": doors()})
    (proposal,) = matched(empty_firm, "doors.xlsx").proposals
    assert {"SL-L", "FD-1"} <= set(proposal.others)


@pytest.mark.parametrize(
    ("rows", "name", "expected"),
    [
        ([["HG", "Head gap"]], "Codes", [("HG", "Head gap")]),
        ([["HG = head gap, mm"], ["W: width of frame"]], "Key", [("HG", "head gap (mm)"), ("W", "width of frame")]),
        ([["HG", "Head gap"], ["Customer", "A. Nobody"], ["Width", "3000"]], "Key", [("HG", "Head gap")]),
        ([["Code", "Meaning"], ["HG", "Head gap"]], "Doors", [("HG", "Head gap")]),
        ([["Crew", "Name"], ["A", "Alder and Birch"]], "Crews", []),
        ([["HG-H, HG-L", "Head gap"]], "Key", []),
    ],
)
def test_a_key_is_read_only_where_it_says_that_it_is_one(rows, name, expected):
    assert pairs(rows, name) == expected


def test_a_note_on_what_stands_in_cells_is_no_key_of_headings():
    assert key_of(["Sill level: 3 L = left end 3mm low, 2 R = right end 2mm low"]) == {}
    assert key_of(["L = left, R = right"]) == {"L": "left", "R": "right"}


def test_a_code_that_is_explained_in_two_ways_means_nothing():
    assert one_meaning([("HG", "Head gap"), ("HG", "Hinge gap"), ("SL", "Sill level")]) == (("SL", "Sill level"),)


CODES = [
    ["Code", "What is measured", "Unit", "What goes in At"],
    ["LVS", "Sill level, height over datum", "mm", "distance along from the left"],
    ["DGF", "Frame diagonal", "mm", "rising / falling"],
    ["GPH", "Gap at head", "mm", "hinge / lock"],
    ["FXJ", "Fixing", "mm", "its number"],
]
LIST = ["Ref", "Job", "Date taken", "Code", "Part", "At", "Reading", "Unit"]
TAKEN = [
    ("LVS", "Sill", 100, 1),
    ("LVS", "Sill", 2700, -2),
    ("DGF", "Frame", "rising", 3660),
    ("DGF", "Frame", "falling", 3662),
    ("GPH", "Leaf 1", "hinge", 4),
    ("FXJ", "Left jamb", 2, 750),
]


def listed(codes=CODES):
    fitted = [["Job", "Gang", "Installed", "Width mm"], *([f"Q{at}", "Red", day(at), 2800] for at in (1, 2, 3))]
    rows = [[code, part, at, value, "mm"] for code, part, at, value in TAKEN]
    taken = [[number, f"Q{job}", day(job)] for number, job in enumerate((1, 2, 3) * len(rows), start=1)]
    taken = [[*who, *rows[at // 3]] for at, who in enumerate(taken)]
    return {"Doors": fitted, "Taken": [LIST, *taken], "Codes": codes}


def test_codes_name_the_rows_of_a_list_and_one_column_says_where_each_was_taken(empty_firm):
    write_sheets(empty_firm.folder / "doors.xlsx", listed())
    assert ("Codes", "it says what codes in headings mean") in matched(empty_firm, "doors.xlsx").unread
    empty_firm.take_in()
    what = "measure, member, station, position_mm, value"
    asked = f"SELECT {what} FROM readings WHERE install_id = 'Q2' ORDER BY measure, value"
    assert empty_firm.ask(asked) == [
        ("fixing", "left_jamb", "2", None, 750),
        ("frame_diagonal", None, "rising", None, 3660),
        ("frame_diagonal", None, "falling", None, 3662),
        ("head_gap", "leaf_1", "hinge", None, 4),
        ("sill_height", "sill", None, 2700, -2),
        ("sill_height", "sill", None, 100, 1),
    ]


def test_a_door_of_another_width_is_read_by_the_mapping_of_the_first(empty_firm):
    write_sheets(empty_firm.folder / "doors.xlsx", listed())
    matched(empty_firm, "doors.xlsx")
    further = listed()
    further["Taken"].append([99, "Q3", day(3), "LVS", "Sill", 1444, 0.5, "mm"])
    write_sheets(empty_firm.folder / "doors.xlsx", further)
    empty_firm.take_in()
    assert empty_firm.ask("SELECT position_mm, value FROM readings WHERE position_mm = 1444") == [(1444, 0.5)]


def test_readings_whose_codes_nothing_explains_are_no_calls(empty_firm):
    sheets = listed()
    del sheets["Codes"]
    write_sheets(empty_firm.folder / "doors.xlsx", sheets)
    found = matched(empty_firm, "doors.xlsx")
    assert [list(one.columns) for one in found.proposals] == [["installs"]]
    assert [names for names, _ in found.unread] == ["Taken"]


def test_a_list_of_codes_is_no_form_of_a_door():
    grid = Grid("Codes", [list(row) for row in CODES], "1900")
    codes = frozenset({"HG", "SL", *(str(row[0]) for row in CODES)})
    assert is_key(grid, codes)
    assert is_key(Grid("Key", [["HG", "Head gap"], ["SL", "Sill level"]], "1900"), codes)
    assert not is_key(Grid("Key", [["HG", "Head gap"], ["SL", "Sill level"]], "1900"), frozenset({"HG"}))
    assert not is_key(Grid("Key", [["HG", "Head gap"], *([["Customer", "A. Nobody"]] * 6)], "1900"), codes)


NUMBERS = [f"D{at}" for at in range(101, 107)]
READ = [["Reading", "Value", "Unit"], *([["Sill level left", at, "mm"] for at in range(6)])]
SEEN = [["What is checked", "Result"], *([["Drainage clear", "yes"]] * 6)]
CALLED = [["Description", "Date reported"], *([["leaks at sill", day(50 + at)] for at in range(6)])]


@pytest.mark.parametrize("head", ["Door code", "Job code", "Code"])
@pytest.mark.parametrize(("record", "beside"), [("readings", READ), ("checks", SEEN), ("callbacks", CALLED)])
def test_codes_of_doors_beside_what_was_read_or_reported_are_no_key(empty_firm, head, record, beside):
    fitted = [["Door code", "Team", "Fitted", "Width mm"], *([code, "Red", day(1), 2400] for code in NUMBERS)]
    rows = [[code, *row] for code, row in zip([head, *NUMBERS], beside, strict=True)]
    write_sheets(empty_firm.folder / "doors.xlsx", {"Doors": fitted, "Book": rows})
    found = matched(empty_firm, "doors.xlsx")
    assert "codes in headings" not in str(found.unread)
    empty_firm.take_in()
    assert empty_firm.ask(f"SELECT count(*) FROM {record}") == [(6,)]


def test_numbers_of_lines_are_not_what_was_read(empty_firm):
    """Entry may name a value as well as the line it stands in: which it is, its cells tell."""
    heads = ["Entry", "Time", "Job", "Item", "Reading", "Unit", "Comment"]
    items = [("Sill level left", 1), ("Sill level right", -2), ("Leaf 1 head gap lock side", 4)]
    lines = [(job, *item) for job in (1, 2, 3, 4) for item in items]
    taken = [
        [901 + at, day(job), f"Q{job}", item, value, "mm", "sun on it" if at == 2 else None]
        for at, (job, item, value) in enumerate(lines)
    ]
    doors = [["Job", "Gang", "Installed", "Width mm"], *([f"Q{at}", "Red", day(at), 2800] for at in (1, 2, 3, 4))]
    write_sheets(empty_firm.folder / "doors.xlsx", {"Doors": doors, "Taken": [heads, *taken]})
    matched(empty_firm, "doors.xlsx")
    empty_firm.take_in()
    asked = "SELECT measure, station, value FROM readings WHERE install_id = 'Q3' ORDER BY measure, value"
    assert empty_firm.ask(asked) == [("head_gap", "lock", 4), ("sill_height", "right", -2), ("sill_height", "left", 1)]
    assert empty_firm.ask("SELECT count(*) FROM callbacks") == [(0,)]


@pytest.mark.parametrize("word", ["fixing", "Fixing", "FIXING "])
def test_the_number_of_a_fixing_is_no_distance_however_its_word_is_written(word):
    same = Source(heading="at")
    record_map = RecordMap("readings", (("station", same), ("position_mm", same)))
    columns = {"measure": [word, "sill_height"], "station": ["3", "100"], "position_mm": ["3", "100"]}
    made = places_apart(record_map, columns)
    assert (made["station"], made["position_mm"]) == (["3", ""], ["", "100"])

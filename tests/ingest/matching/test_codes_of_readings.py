"""Exports with a row for each reading that is named by a code, and what is told of rows that no code explains.

All invented; how databases give out such rows is common practice, no source.
"""

from tests.ingest.matching.test_listings import BOOK, door, match_all
from tests.ingest.matching.test_match import write_sheets

NUMBERS = [f"B{at + 51}" for at in range(6)]
AT_EACH = [
    ("GAP_TOP", 1, "HINGE_SIDE", 4.5),
    ("GAP_TOP", 1, "LOCK_SIDE", 5),
    ("LEVEL_SILL", None, "LEFT", 0),
    ("LEVEL_SILL", None, "RIGHT", 1.5),
    ("DIAGONAL_FRAME", None, "BL_TR", 3400),
    ("DIAGONAL_FRAME", None, "TL_BR", 3402),
]


def export(heads, rows):
    return [heads, *([one, *row] for one in NUMBERS for row in rows)]


def take_in(firm, sheet):
    book = [BOOK, *(door(at, one) for at, one in enumerate(NUMBERS))]
    write_sheets(firm.folder / "Doors.xlsx", {"All": book})
    write_sheets(firm.folder / "Taken.xlsx", {"Export": sheet})
    found = match_all(firm)
    firm.take_in()
    return next(one for one in found if one.file == "Taken.xlsx")


def readings_of(firm, door_id):
    return firm.ask(f"SELECT measure, member, station, value FROM readings WHERE install_id = '{door_id}' ORDER BY ALL")


def test_codes_of_measures_beside_their_points_and_leaves(empty_firm):
    rows = [[code, leaf, point, value, "MM"] for code, leaf, point, value in AT_EACH]
    take_in(empty_firm, export(["job_no", "measure_code", "leaf_no", "measure_point", "measured_value", "uom"], rows))
    assert readings_of(empty_firm, "B52") == [
        ("frame_diagonal", None, "falling", 3402),
        ("frame_diagonal", None, "rising", 3400),
        ("head_gap", "leaf_1", "hinge", 4.5),
        ("head_gap", "leaf_1", "lock", 5),
        ("sill_height", "sill", "left", 0),
        ("sill_height", "sill", "right", 1.5),
    ]


def test_what_was_read_stands_under_a_heading_that_does_not_say_so(empty_firm):
    rows = [["SILL_HEIGHT", "LEFT", 1], ["SILL_HEIGHT", "CENTRE", 0], ["SILL_HEIGHT", "RIGHT", 2]]
    take_in(empty_firm, export(["job_no", "tp", "measure_point", "measured_value"], rows))
    assert readings_of(empty_firm, "B51") == [
        ("sill_height", "sill", "centre", 0),
        ("sill_height", "sill", "left", 1),
        ("sill_height", "sill", "right", 2),
    ]


def test_rows_whose_codes_nothing_explains_are_told_with_their_columns(empty_firm):
    rows = [["QX7", "P1", 3], ["QX8", "P2", 4]]
    one = take_in(empty_firm, export(["job_no", "measure_code", "measure_point", "measured_value"], rows))
    ((_, why),) = one.unread
    assert "another sheet" not in why
    assert all(f"'{name}'" in why for name in ("measure_code", "measure_point", "measured_value"))

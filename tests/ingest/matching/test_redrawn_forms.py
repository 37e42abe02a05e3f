"""Forms, one door a sheet, that were redrawn or never filled in, all invented.

How such workbooks look is common practice, no source.
"""

from openpyxl import Workbook

from tests.ingest.matching.test_match import day, matched, write_sheets

SUMMARY = [["Year 2023 by team"], [], ["Team", "Doors", "Complaints"], ["Elm", 41, 3], ["Oak", 38, 5]]
CREWS = {1: "Elm", 2: "Oak", 3: "Elm", 4: "Ash"}


def old(number=None):
    is_filled = number is not None
    return [
        ["DOOR SHEET"],
        ["Door ref", f"D{number}" if is_filled else None, None, "Panels", 2 if is_filled else None],
        ["Team", CREWS[number] if is_filled else None, None, "Width (mm)", 2400 + number if is_filled else None],
        ["Fitted", day(number) if is_filled else None],
        [],
        ["Frame diagonal rising", 3000 + number if is_filled else None],
        ["Frame diagonal falling", 3002 if is_filled else None],
    ]


def new(number=None):
    is_filled, leaves = number is not None, 3 if number is not None else None
    return [
        ["DOOR SHEET, second edition"],
        ["Door number", f"D{number}" if is_filled else None, None, "Leaves", leaves],
        [
            "Installed by",
            CREWS[number] if is_filled else None,
            None,
            "Width (mm)",
            2400 + number if is_filled else None,
        ],
        ["Date fitted", day(number) if is_filled else None, None, "Handover", day(number + 1) if is_filled else None],
        ["Air temperature °C", 12 if is_filled else None],
        [],
        ["Frame diagonal rising", 3000 + number if is_filled else None],
        ["Frame diagonal falling", 3002 if is_filled else None],
    ]


def without(form, label):
    return [row for row in form if label not in row]


def test_a_form_redrawn_half_way_behind_an_empty_one(empty_firm):
    """Whatever the labels of a door's form, what stands beside them is read; who fills in nothing has no door."""
    sheets = {"BLANK - copy me": new(), "D1": old(1), "D2": old(2), "D3": new(3), "D4": new(4), "2023": SUMMARY}
    write_sheets(empty_firm.folder / "doors.xlsx", sheets)
    one = matched(empty_firm, "doors.xlsx")
    assert ("BLANK - copy me", "nothing is filled in on this form") in one.unread
    empty_firm.take_in()
    doors = "SELECT install_id, crew, fitted_on::TEXT, leaves, width_mm FROM installs ORDER BY 1"
    assert empty_firm.ask(doors) == [
        ("D1", "Elm", "2025-01-07", 2, 2401),
        ("D2", "Oak", "2025-01-08", 2, 2402),
        ("D3", "Elm", "2025-01-09", 3, 2403),
        ("D4", "Ash", "2025-01-10", 3, 2404),
    ]
    rising = "SELECT install_id, value FROM readings WHERE station = 'rising' ORDER BY 1"
    assert empty_firm.ask(rising) == [("D1", 3001), ("D2", 3002), ("D3", 3003), ("D4", 3004)]
    assert empty_firm.ask("SELECT count(*) FROM readings WHERE measure = 'temperature'") == [(2,)]
    assert empty_firm.set_aside() == []
    told = empty_firm.ask("SELECT reason FROM files WHERE record = 'installs'")[0][0]
    assert "sheet BLANK - copy me not read: nothing is filled in on this form" in told


def test_forms_of_which_some_lack_a_line(empty_firm):
    sheets = {f"D{n}": old(n) for n in (1, 2)} | {"D3": without(old(3), "Frame diagonal falling"), "Empty": old()}
    write_sheets(empty_firm.folder / "doors.xlsx", sheets)
    matched(empty_firm, "doors.xlsx")
    empty_firm.take_in()
    assert empty_firm.account("installs") == (3, 3, 0, 0)
    assert empty_firm.account("readings") == (5, 5, 0, 0)


def test_next_months_empty_form_is_passed_over(empty_firm):
    """A form that nobody has filled in yet is no door, and hinders none."""
    write_sheets(empty_firm.folder / "doors 2025-01.xlsx", {"a": old(1), "b": old(2)})
    matched(empty_firm, "doors 2025-01.xlsx")
    write_sheets(empty_firm.folder / "doors 2025-02.xlsx", {"a": old(3), "b": old(), "c": without(old(), "Fitted")})
    empty_firm.take_in()
    assert empty_firm.ask("SELECT install_id FROM installs ORDER BY 1") == [("D1",), ("D2",), ("D3",)]
    assert empty_firm.set_aside() == []


def write_gaps(path, doors, is_merged):
    book = Workbook()
    book.remove(book.active)
    for number in doors:
        sheet = book.create_sheet(f"D{number}")
        for row in old(number):
            sheet.append(row)
        sheet.append([])
        sheet.append([None, "Head gap", None, "Threshold gap", None])
        if is_merged:
            sheet.merge_cells("B9:C9")
            sheet.merge_cells("D9:E9")
        sheet.append(["Panel", "Hinge", "Lock", "Hinge", "Lock"])
        for leaf in range(1, 2 + number):
            sheet.append([leaf, 4 + leaf, 5, 6, 7 + number])
        sheet.append([])
        sheet.append(["Sill level, + is high", "Left", "Centre", "Right"])
        sheet.append(["mm", 0, 0.5, number])
    book.save(path)


def test_places_under_headings_of_what_was_read_and_behind_a_unit(empty_firm):
    for name, is_merged in (("forms a.xlsx", True), ("forms b.xlsx", False)):
        write_gaps(empty_firm.folder / name, (1, 2) if is_merged else (3, 4), is_merged=is_merged)
        matched(empty_firm, name)
    empty_firm.take_in()
    gaps = (
        "SELECT measure, member, station, value FROM readings WHERE install_id = '{}' AND station IN ('hinge', 'lock')"
    )
    for door, number in (("D1", 1), ("D3", 3)):
        expected = [
            row
            for leaf in range(1, 2 + number)
            for row in (
                ("head_gap", f"leaf_{leaf}", "hinge", 4 + leaf),
                ("head_gap", f"leaf_{leaf}", "lock", 5),
                ("threshold_gap", f"leaf_{leaf}", "hinge", 6),
                ("threshold_gap", f"leaf_{leaf}", "lock", 7 + number),
            )
        ]
        assert sorted(empty_firm.ask(gaps.format(door))) == sorted(expected)
    sill = "SELECT value FROM readings WHERE install_id = 'D2' AND measure = 'sill_height'"
    assert sorted(empty_firm.ask(sill)) == [(0,), (0.5,), (2,)]
    assert empty_firm.set_aside() == []


def test_a_workbook_of_one_empty_form_says_so(empty_firm):
    write_sheets(empty_firm.folder / "doors 2025-01.xlsx", {"a": old(1), "b": old(2)})
    matched(empty_firm, "doors 2025-01.xlsx")
    write_sheets(empty_firm.folder / "doors 2025-02.xlsx", {"a": old()})
    empty_firm.take_in()
    assert empty_firm.ask("SELECT count(*) FROM installs") == [(2,)]
    assert any("nothing is filled in on this form; fill it in" in reason for reason in empty_firm.reasons())

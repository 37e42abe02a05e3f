"""Headings that only their numbers tell apart. All invented; common practice, no source."""

from tests.ingest.matching.test_match import day, matched, write_sheets

HEADS = ["Job", "Crew", "Fitted", "Width mm", "Height mm", "Head clearance L", "Head clearance C", "Head clearance R"]


def take(firm, rows, heads=HEADS):
    write_sheets(firm.folder / "doors.xlsx", {"Doors": [heads, *rows]})
    one = matched(firm, "doors.xlsx")
    firm.take_in()
    return one


def door(number, *clear):
    return [f"G-{number}", "Elm", day(number), 3000, 2100, *clear]


def test_a_clearance_of_two_metres_is_the_clear_height(empty_firm):
    take(empty_firm, [door(1, 1990, 1988, 1991), door(2, 2001, 2000, 2002), door(3, 1996, 1995, 1997)])
    assert empty_firm.ask("SELECT DISTINCT measure FROM readings") == [("clear_height",)]
    assert empty_firm.ask("SELECT count(*) FROM readings") == [(9,)]


def test_a_clearance_of_a_few_millimetres_is_none(empty_firm):
    take(empty_firm, [door(1, 4, 5, 4), door(2, 3, 4, 4), door(3, 5, 4, 3)])
    assert empty_firm.ask("SELECT count(*) FROM readings WHERE measure = 'clear_height'") == [(0,)]


def test_a_type_that_is_new_or_replacement_is_the_kind_of_work(empty_firm):
    heads = ["Job", "Crew", "Fitted", "Width mm", "Height mm", "Type"]
    kinds = ["New construction", "Replacement", "Replacement"]
    take(empty_firm, [door(number, kind) for number, kind in enumerate(kinds, start=1)], heads)
    assert empty_firm.ask("SELECT product, work FROM installs ORDER BY install_id") == [
        (None, "new"), (None, "replacement"), (None, "replacement"),
    ]  # fmt: skip


def test_rows_of_a_form_under_bare_heights_are_read_at_each(empty_firm):
    def form(number):
        return [
            ["Door ref", f"P{number}", None, "Fitted by", "Elm"],
            ["Date fitted", day(number), None, "Height", "2130mm"],
            [],
            ["Jamb plumb (mm off the plumb line)"],
            ["Height up jamb (mm)", "Left jamb face", "Left jamb edge"],
            [300, 3, 2],
            [1100, 0.5, number],
            [],
            ["Track clean", "✓"],
        ]

    write_sheets(empty_firm.folder / "cards.xlsx", {f"P{number}": form(number) for number in (1, 2)})
    matched(empty_firm, "cards.xlsx")
    empty_firm.take_in()
    assert empty_firm.ask("SELECT measure, position_mm, value FROM readings WHERE install_id = 'P2' ORDER BY ALL") == [
        ("jamb_edge", 300.0, 2.0), ("jamb_edge", 1100.0, 2.0), ("jamb_face", 300.0, 3.0), ("jamb_face", 1100.0, 0.5),
    ]  # fmt: skip

"""Forms below one another in one sheet, all invented. How firms keep their door cards is common practice, no source."""

import pytest

from pipeline.errors import UserError
from pipeline.ingest.declared.mapping_tables import parse_mapping
from tests.ingest.matching.test_match import day, matched, write_sheets

EACH = [{"column": "Locks", "check": "locks_operate"}]
LOOKED_AT = ["Locks operate", "yes", None, "Track clean", "no"]


def card(number, n_leaves, last=LOOKED_AT):
    gaps = [[leaf, 3 + leaf, 4] for leaf in range(1, n_leaves + 1)]
    return [
        ["DOOR CARD"],
        ["Door no", f"K-{number}", None, "Team", "Elm"],
        ["Fitted", day(number), None, "Width (mm)", 3000 + number],
        ["Sill level (mm)", "left", "right"],
        ["", 0, number],
        ["Frame diagonal rising", 3660, None, "Frame diagonal falling", 3661],
        [],
        ["Leaf", "Head gap hinge", "Head gap lock"],
        *gaps,
        [],
        last,
        [],
    ]


def test_cards_of_doors_with_more_and_fewer_leaves_under_one_another_in_two_sheets(empty_firm):
    sheets = {"May": [["Cards 2025"], [], *card(1, 3), *card(2, 2)], "June": card(3, 4)}
    write_sheets(empty_firm.folder / "cards.xlsx", sheets | {"July": [*card(5, 2), *card(6, 2)]})
    matched(empty_firm, "cards.xlsx")
    empty_firm.take_in()
    doors = "SELECT install_id, crew, fitted_on::TEXT, width_mm FROM installs ORDER BY 1"
    assert empty_firm.ask(doors) == [
        (f"K-{number}", "Elm", f"2025-01-{6 + number:02}", 3000.0 + number) for number in (1, 2, 3, 5, 6)
    ]
    gaps = "SELECT install_id, count(*) FROM readings WHERE measure = 'head_gap' GROUP BY ALL ORDER BY 1"
    assert empty_firm.ask(gaps) == [("K-1", 6), ("K-2", 4), ("K-3", 8), ("K-5", 4), ("K-6", 4)]
    sill = "SELECT station, value FROM readings WHERE install_id = 'K-2' AND measure = 'sill_height' ORDER BY 1"
    assert empty_firm.ask(sill) == [("left", 0), ("right", 2)]
    assert empty_firm.account("checks") == (10, 10, 0, 0)


def test_forms_are_numbered_by_the_number_of_the_form_where_nothing_else_numbers_the_door(empty_firm):
    """Before, neither a form a sheet nor two in one were read, as no label is a door's number by its words."""

    def form(number):
        return [["Form no.", 3300 + number, *row[2:]] if row[:1] == ["Door no"] else row for row in card(number, 2)]

    sheets = {"3301": form(1), "3302 & 3303": [*form(2), *form(3)], "3304": form(4)}
    write_sheets(empty_firm.folder / "forms.xlsx", sheets)
    matched(empty_firm, "forms.xlsx")
    empty_firm.take_in()
    doors = "SELECT install_id, width_mm FROM installs ORDER BY 1"
    assert empty_firm.ask(doors) == [(f"330{number}", 3000.0 + number) for number in (1, 2, 3, 4)]


def test_a_card_that_lacks_a_line_has_nothing_there_and_is_told_and_what_is_no_card_is_told(empty_firm):
    write_sheets(empty_firm.folder / "cards.xlsx", {"All": [*card(1, 2), *card(2, 2, last=[]), *card(3, 2)]})
    one = matched(empty_firm, "cards.xlsx")
    assert one.notes == ["All: the form in rows 14 to 26 has no 'locks operate', 'track clean'"]
    sheet = [*card(1, 2), *card(2, 2), ["Door no", "see the van book"], ["Back later"]]
    write_sheets(empty_firm.folder / "cards.xlsx", {"All": sheet})
    empty_firm.take_in()
    assert empty_firm.account("installs") == (2, 2, 0, 0)
    told = "SELECT reason FROM files WHERE record = 'installs'"
    assert empty_firm.ask(told) == [("sheet All: the form in rows 27 to 28 not read: it has other labels",)]


def test_a_label_gone_from_every_card_is_a_changed_sheet(empty_firm):
    write_sheets(empty_firm.folder / "cards.xlsx", {"All": [*card(1, 2), *card(2, 2)]})
    matched(empty_firm, "cards.xlsx")
    renamed = [["Hung on" if cell == "Fitted" else cell for cell in row] for row in [*card(1, 2), *card(2, 2)]]
    write_sheets(empty_firm.folder / "cards.xlsx", {"All": renamed})
    with pytest.raises(UserError, match="the heading 'Fitted' is gone"):
        empty_firm.take_in()


def test_cards_whose_labels_hold_their_answers(empty_firm):
    def small(number):
        lines = [[f"Door ref: K-{number}", None, "Fitter: Elm"], [f"Date fitted: 1{number}/03/2025"]]
        return [*lines, ["Sill left", 0.5, "Sill right", number], ["Drainage clear", "Y", "Folds freely", "N"], []]

    write_sheets(empty_firm.folder / "cards.xlsx", {"All": [*small(3), *small(4), *small(5)]})
    matched(empty_firm, "cards.xlsx")
    empty_firm.take_in()
    assert empty_firm.ask("SELECT install_id, fitted_on::TEXT FROM installs ORDER BY 1") == [
        ("K-3", "2025-03-13"),
        ("K-4", "2025-03-14"),
        ("K-5", "2025-03-15"),
    ]
    assert empty_firm.account("readings") == (6, 6, 0, 0)


def test_cards_two_by_two_on_a_page(empty_firm):
    """Both doors of a page stand in the same rows; what is said of a row says from which column on."""

    def small(number, fitted):
        facts = [["Door no", f"K-{number}"], ["Team", "Elm"], ["Fitted", fitted]]
        return [*facts, ["Sill left", 0], ["Sill right", number]]

    def page(first, second):
        return [[*one, None, *other] for one, other in zip(first, second, strict=True)]

    rows = [
        *page(small(1, day(1)), small(2, day(2))),
        [],
        *page(small(3, day(3)), small(4, "soon")),
        [],
        *small(5, day(5)),
    ]
    write_sheets(empty_firm.folder / "cards.xlsx", {"All": [["Cards"], [], *rows]})
    matched(empty_firm, "cards.xlsx")
    empty_firm.take_in()
    sill = "SELECT install_id, value FROM readings WHERE station = 'right' AND install_id <> 'K-4' ORDER BY 1"
    assert empty_firm.ask(sill) == [(f"K-{number}", number) for number in (1, 2, 3, 5)]
    assert empty_firm.account("installs") == (5, 4, 1, 0)
    sheets = "SELECT sheet FROM loads JOIN problems USING (load) WHERE \"column\" = 'fitted_on'"
    assert empty_firm.ask(sheets) == [("All, from column D on",)]


def test_two_pages_of_one_door_are_one_form(empty_firm):
    def pages(number):
        first = [["Door no", f"K-{number}", "Team", "Elm"], ["Fitted", day(number)], ["Sill left", 0], []]
        return [*first, ["Door no", f"K-{number}"], ["Locks operate", "yes"], ["Track clean", "yes"]]

    write_sheets(empty_firm.folder / "forms.xlsx", {"K-1": pages(1), "K-2": pages(2)})
    assert all(not one.begins_with for one in matched(empty_firm, "forms.xlsx").proposals)


def test_what_forms_begin_with_goes_with_forms():
    with pytest.raises(UserError, match="begins_with goes with form = true"):
        parse_mapping([{"file": "a.csv", "begins_with": "Door", "checks": {"install_id": "Door", "each": EACH}}])

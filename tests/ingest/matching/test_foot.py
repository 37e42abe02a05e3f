"""Door cards with the door's service history at their foot, all invented.

How cards look is common practice, no source.
"""

import pytest

from pipeline.errors import UserError
from pipeline.ingest.declared.mapping_tables import parse_mapping
from tests.ingest.matching.test_match import day, matched, write_sheets

HISTORY = ["Called", "Complaint", "Attended", "Hrs"]


def card(number, calls, heads=HISTORY):
    return [
        ["DOOR CARD"],
        [],
        ["Card no.", f"K-{number}"],
        ["Installers", "Elm"],
        ["Fitted on", day(number)],
        ["Frame width mm", 3000 + number],
        ["Sill level left, mm", 0],
        ["Sill level right, mm", number],
        ["Locks operate", "Yes"],
        [],
        ["SERVICE HISTORY"],
        heads,
        *calls,
    ]


def call(reported_on, said="Key stiff", visited_on="04/06/2025"):
    return [reported_on, said, visited_on, 1.5]


CALLS = "SELECT install_id, reported_on::TEXT, visited_on::TEXT, hours FROM callbacks ORDER BY 2"
EXPECTED = [
    ("K-1", "2025-05-03", "2025-06-04", 1.5),
    ("K-3", "2025-05-04", "2025-06-04", 1.5),
    ("K-3", "2025-05-27", "2025-06-04", 1.5),
]


def cards():
    # a day past the 12th stands on another card only, and decides for all of them
    calls = {1: [call("03/05/2025")], 2: [], 3: [call("04/05/2025"), call("27/05/2025", "Wet floor after rain")]}
    return {f"K-{number}": card(number, calls[number]) for number in calls}


@pytest.mark.parametrize("is_stacked", [False, True])
def test_calls_at_the_foot_of_a_card_are_those_of_its_door(empty_firm, is_stacked):
    sheets = cards()
    sheets = {"Cards": [row for rows in sheets.values() for row in [*rows, [], []]]} if is_stacked else sheets
    write_sheets(empty_firm.folder / "cards.xlsx", sheets)
    one = matched(empty_firm, "cards.xlsx")
    assert (one.n_placed, one.n_headings) == (11, 11)
    empty_firm.take_in()
    assert empty_firm.ask("SELECT install_id, width_mm FROM installs ORDER BY 1") == [
        (f"K-{number}", 3000 + number) for number in (1, 2, 3)
    ]
    assert empty_firm.ask(CALLS) == EXPECTED
    assert empty_firm.account("callbacks") == (3, 3, 0, 0)
    assert empty_firm.account("readings") == (6, 6, 0, 0)
    assert empty_firm.account("checks") == (3, 3, 0, 0)


def test_a_line_of_the_history_without_a_day_is_set_aside(empty_firm):
    sheets = cards() | {"K-4": card(4, [call(None), call("28/05/2025")])}
    write_sheets(empty_firm.folder / "cards.xlsx", sheets)
    matched(empty_firm, "cards.xlsx")
    empty_firm.take_in()
    assert empty_firm.account("callbacks") == (5, 4, 1, 0)


def test_a_heading_of_the_history_that_one_card_lacks_is_a_changed_sheet(empty_firm):
    write_sheets(empty_firm.folder / "cards.xlsx", cards())
    matched(empty_firm, "cards.xlsx")
    heads = ["Called", "Complaint", "Sparkled", "Hrs"]
    write_sheets(empty_firm.folder / "cards.xlsx", cards() | {"K-4": card(4, [call("28/05/2025")], heads)})
    with pytest.raises(UserError, match="the heading 'Attended' is gone, and 'Sparkled' stands there"):
        empty_firm.take_in()


def test_cards_without_a_history_are_read_as_before(empty_firm):
    write_sheets(empty_firm.folder / "cards.xlsx", {f"K-{number}": card(number, [])[:9] for number in (1, 2)})
    assert not any(one.is_foot for one in matched(empty_firm, "cards.xlsx").proposals)
    empty_firm.take_in()
    assert empty_firm.account("installs") == (2, 2, 0, 0)


def test_a_form_and_its_foot_are_tables_of_their_own():
    table = {"file": "a.xlsx", "form": True, "at_foot": True, "crews": {"crew": "Team"}}
    with pytest.raises(UserError, match="at_foot is for the table at the foot of a form"):
        parse_mapping([table])

"""Sheets of an office that have a job, a date and a remark, and are no calls; all invented.

What offices keep beside their doors is common practice, no source.
"""

import pytest

from pipeline.ingest.matching.match import match_files
from tests.ingest.matching.test_match import add_doors, day, write_sheets

DOORS = [f"D{at}" for at in range(401, 407)]
SAID = [
    "one pane short",
    "crate damaged at corner",
    "all in order",
    "left next door",
    "driver late",
    "steel in the way",
]


def sheet(heads, *others):
    """Rows with a day and a remark for each door, the cells of other columns the same in all."""
    named = enumerate(zip(DOORS, SAID, strict=True))
    return [heads, *([door, f"Mx {door}", day(at), said, *others] for at, (door, said) in named)]


@pytest.mark.parametrize(
    ("name", "heads", "others"),
    [
        ("Invoices", ["Door", "Client", "Date", "Remarks", "Amount £"], [4000]),
        ("Sheet1", ["Door", "Client", "Date", "Comments", "Supplier"], ["Sol"]),
        ("Survey diary", ["Door", "Client", "Date", "Notes"], []),
    ],
)
def test_what_an_office_pays_orders_and_surveys_is_no_call(empty_firm, name, heads, others):
    add_doors(empty_firm, DOORS)
    write_sheets(empty_firm.folder / "Office.xlsx", {name: sheet(heads, *others)})
    (one,) = match_files([empty_firm.folder / "Office.xlsx"], is_terminal=False).matched
    assert not [each for each in one.proposals if "callbacks" in each.columns]
    assert [named for named, _ in one.unread] == [name]


def test_a_log_of_service_calls_that_says_what_was_paid_is_one(empty_firm):
    add_doors(empty_firm, DOORS)
    calls = sheet(["Door", "Client", "Date", "Notes", "Paid"], "no")
    write_sheets(empty_firm.folder / "Office.xlsx", {"Service calls": calls})
    (one,) = match_files([empty_firm.folder / "Office.xlsx"], is_terminal=False).matched
    assert [each for each in one.proposals if "callbacks" in each.columns]

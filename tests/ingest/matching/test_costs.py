"""What callbacks cost and what they were for, where invented service logs say it in parts or in kinds."""

from datetime import time

import pytest

from pipeline.ingest.matching.words.contents import as_kind_of_fault
from tests.ingest.matching.test_match import add_doors, day, matched, write_sheets

HEADS = ["Ticket", "Date reported", "Job", "Details", "Contact reason"]


def log(firm, heads, *rows):
    """A service log with further columns, matched and taken in."""
    add_doors(firm, [f"K{n}" for n in range(len(rows))])
    texts = [("door drags on the sill", "Sticking"), ("rain comes in", "Leaking"), ("rubber hangs", "Gasket loose")]
    own = [[f"S{n}", day(n), f"K{n}", *texts[n % 3], *row] for n, row in enumerate(rows)]
    write_sheets(firm.folder / "service.xlsx", {"Calls": [[*HEADS, *heads], *own]})
    matched(firm, "service.xlsx")
    firm.take_in()


def costs(firm):
    return [cost for (cost,) in firm.ask("SELECT cost FROM callbacks ORDER BY callback_id")]


def test_labour_and_parts_make_the_cost_where_no_total_stands_beside_them(empty_firm):
    log(empty_firm, ["Labour $", "Materials $"], ["$1,120.00", 45.5], [80, None], [None, "12"])
    assert costs(empty_firm) == [1165.5, 80.0, 12.0]
    (raw,) = empty_firm.ask("SELECT raw FROM callbacks_history ORDER BY callback_id")[0]
    assert '"cost":"$1,120.00 + 45.5"' in raw
    assert "the sum of it" in raw


def test_cells_alone_may_say_that_labour_is_money(empty_firm):
    log(empty_firm, ["Labour", "Parts"], ["R1 120,00", "R45,50"], ["R80,00", None], ["R60,00", "R5,00"])
    assert costs(empty_firm) == [1165.5, 80.0, 65.0]


@pytest.mark.parametrize(
    ("heads", "rows", "meant"),
    [
        (["Labour £", "Parts £", "Total £"], [[10, 5, 15], [20, 5, 25], [7, 0, 7]], [15.0, 25.0, 7.0]),
        (["Labour", "Parts £"], [[1.5, 5], [2, 5], [1, 0]], [None, None, None]),
        (["Labour cost", "Parts & labour cost"], [[10, 15], [20, 25], [7, 9]], [15.0, 25.0, 9.0]),
    ],
)
def test_no_sum_is_made_beside_a_total_or_of_hours(empty_firm, heads, rows, meant):
    log(empty_firm, heads, *rows)
    assert costs(empty_firm) == meant


@pytest.mark.parametrize(
    ("heading", "cells", "meant"),
    [
        ("Time on site", [time(1, 45), "0:30", "2:00"], [1.75, 0.5, 2.0]),
        ("Labour (hrs)", ["2h15", "1 hr 30 mins", "45 min"], [2.25, 1.5, 0.75]),
        ("visit_minutes", [45, 90, 30], [0.75, 1.5, 0.5]),
        ("Time", ["09:15", "14:40", "16:05"], [None, None, None]),
        ("Time on site", ["09:15", "14:40", "16:05"], [None, None, None]),
    ],
)
def test_hours_and_minutes_are_hours_where_they_are_no_times_of_day(empty_firm, heading, cells, meant):
    log(empty_firm, [heading], *([cell] for cell in cells))
    assert [hours for (hours,) in empty_firm.ask("SELECT hours FROM callbacks ORDER BY callback_id")] == meant


def test_kinds_of_contact_that_say_faults_are_faults(empty_firm):
    log(empty_firm, [], [], [], [])
    found = empty_firm.ask("SELECT fault FROM callbacks ORDER BY callback_id")
    assert found == [("binding",), ("water_ingress",), ("seal_fault",)]


@pytest.mark.parametrize(
    ("heading", "texts", "sure"),
    [("Call type", {"warranty", "chargeable"}, 0.0), ("Fault type", {"f1", "f2"}, None),
     ("Details", {"leak", "draft"}, None),
     ("Query category", {"misted unit", "draughty", "other", "stiff"}, 0.8), ("Group", {"leak", "a", "b"}, None),
     ("Category", {"after-sales"}, 0.0), ("sub_category", {"dropped sash", "misted unit"}, 0.8)],
)  # fmt: skip
def test_how_sure_a_column_of_kinds_is_one_of_faults(heading, texts, sure):
    assert as_kind_of_fault(heading, frozenset(texts)) == sure


PAID = [
    "Charged",
    "Charged EUR",
    "Invoiced £",
    "Price to customer",
    "Customer charge",
    "Billed to client",
    "Fee",
    "Quoted",
]


@pytest.mark.parametrize("heading", PAID)
def test_what_the_customer_paid_is_no_cost_of_the_firm(empty_firm, heading):
    """Before, it was taken for the cost where no other column said one."""
    log(empty_firm, [heading], [120], [95.5], [80])
    assert costs(empty_firm) == [None, None, None]
    assert "cost = " not in (empty_firm.folder / "fitback.toml").read_text()


def test_a_person_is_asked_whether_it_is_the_cost(empty_firm):
    log(empty_firm, ["Charged"], [120], [95.5], [80])
    text = (empty_firm.folder / "fitback.toml").read_text()
    assert '# not sure of "Charged": it may be what the customer paid' in text


WHOSE = "SELECT responsibility FROM callbacks ORDER BY callback_id"


@pytest.mark.parametrize(
    ("heading", "party"),
    [("Our fault?", "installation"), ("Fitting error?", "installation"), ("Customer fault", "use")],
)
def test_a_yes_says_whose_fault_it_was_and_no_fault(empty_firm, heading, party):
    """A no says only whose it was not: which of all others it was, a person has to say."""
    log(empty_firm, [heading], ["Y"], ["N"], [None])
    text = (empty_firm.folder / "fitback.toml").read_text()
    assert f'\nfault = "{heading}"' not in text
    assert f'\nfault = {{ column = "{heading}"' not in text
    assert empty_firm.ask(WHOSE) == [(party,), (None,), (None,)]
    assert [reason.startswith("'N' is not one of the known resp") for reason in empty_firm.reasons()] == [True]


@pytest.mark.parametrize("headings", [["Our fault?", "Customer fault?"], ["Parts?"], ["Fitted"]])
def test_answers_that_do_not_say_whose_fault_it_was_are_left_to_a_person(empty_firm, headings):
    """Two columns may both say yes; what was done with parts is nobody's fault."""
    log(empty_firm, headings, *(answers[: len(headings)] for answers in (["yes", "no"], ["no", "yes"], ["yes", "no"])))
    assert empty_firm.ask(WHOSE) == [(None,)] * 3


@pytest.mark.parametrize("heading", PAID)
def test_beside_it_the_cost_is_the_cost(empty_firm, heading):
    log(empty_firm, [heading, "Cost £"], [120, 60], [95.5, 40], [80, 30])
    assert costs(empty_firm) == [60.0, 40.0, 30.0]


@pytest.mark.parametrize(
    "heading", ["Charge to us", "What it cost us", "Cost ex VAT", "Cost to firm", "Contra charge", "Back-charge"]
)
def test_what_the_firm_was_asked_for_is_its_cost(empty_firm, heading):
    log(empty_firm, [heading], [120], [95.5], [80])
    assert costs(empty_firm) == [120.0, 95.5, 80.0]


def test_charges_for_labour_and_parts_make_no_cost(empty_firm):
    log(empty_firm, ["Labour charge £", "Parts charge £"], [10, 5], [20, 5], [7, 3])
    assert costs(empty_firm) == [None, None, None]


@pytest.mark.parametrize("heading", ["EUR", "CHF", "kr.", "Amount EUR", "Total (CHF)", "Cost, Rand"])
def test_a_currency_says_no_more_than_that_a_column_is_money(empty_firm, heading):
    log(empty_firm, [heading], [120.5], [80], [0])
    assert costs(empty_firm) == [120.5, 80.0, 0.0]


@pytest.mark.parametrize("heading", ["Price kr.", "VAT EUR", "Invoice EUR", "Amount due EUR", "Parts EUR"])
def test_money_that_is_no_cost_is_none_in_any_currency(empty_firm, heading):
    log(empty_firm, [heading], [120.5], [80], [0])
    assert costs(empty_firm) == [None] * 3

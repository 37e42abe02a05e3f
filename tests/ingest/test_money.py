"""Amounts with a sign of currency: read where the column writes one currency, set aside where it writes two."""

import pytest

from pipeline.ingest.texts.money import split_currency
from tests.ingest.conftest import Firm

LOG = "callback_id,install_id,reported_on,cost\n"


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("£85.00", ("£", "85.00")),
        ("85 €", ("€", "85")),
        ("-£5", ("£", "-5")),
        ("£ 1,250", ("£", "1,250")),
        ("R1 250,00", ("R", "1 250,00")),
        ("A$85", ("A$", "85")),
        ("85.50 EUR", ("EUR", "85.50")),
        ("-ZAR 4", ("ZAR", "-4")),
    ],
)
def test_a_sign_at_one_end_is_taken_off(text: str, meant: tuple[str, str]) -> None:
    assert split_currency(text) == meant


@pytest.mark.parametrize("text", ["85", "£5 + £6", "5£6", "-", "£"])
def test_other_texts_stay(text: str) -> None:
    assert split_currency(text)[1] in (text, "")


def test_one_currency_is_read_and_the_text_kept(firm: Firm) -> None:
    firm.write("callbacks.csv", LOG + "C1,D1,2025-05-01,£85.00\nC2,D2,2025-05-02,40\n")
    firm.take_in()
    assert firm.ask("SELECT callback_id, cost FROM callbacks ORDER BY 1") == [("C1", 85.0), ("C2", 40.0)]
    assert firm.reasons() == []
    (raw,) = firm.ask("SELECT raw FROM raw_cells WHERE raw LIKE '%85%'")
    assert "£85.00" in raw[0]
    assert "taken for the firm's currency" in raw[0]


def test_a_sum_in_a_cell_is_read_as_what_it_comes_to(firm: Firm) -> None:
    rows = ["C1,D1,2025-05-01,£85.00 + £12.50", "C2,D2,2025-05-02,40+5", "C3,D2,2025-05-03,40 + VAT"]
    firm.write("callbacks.csv", LOG + "\n".join(rows) + "\n")
    firm.take_in()
    assert firm.ask("SELECT callback_id, cost FROM callbacks ORDER BY 1") == [("C1", 97.5), ("C2", 45.0), ("C3", None)]
    assert "the sum of it" in firm.ask("SELECT raw FROM raw_cells WHERE raw LIKE '%40+5%'")[0][0]


def test_a_sum_counts_as_evidence_of_how_its_column_is_written(firm: Firm) -> None:
    rows = ['C1,D1,2025-05-01,"1.200 + 85,50"', "C2,D2,2025-05-02,A$40", "C3,D2,2025-05-03,$12"]
    firm.write("callbacks.csv", LOG + "\n".join(rows) + "\n")
    firm.take_in()
    # two currencies are two, also where both are dollars
    assert firm.ask("SELECT callback_id, cost FROM callbacks ORDER BY 1") == [
        ("C1", 1285.5),
        ("C2", None),
        ("C3", None),
    ]


def test_two_currencies_are_set_aside(firm: Firm) -> None:
    firm.write("callbacks.csv", LOG + "C1,D1,2025-05-01,£85.00\nC2,D2,2025-05-02,€40\nC3,D2,2025-05-03,12\n")
    firm.take_in()
    assert firm.ask("SELECT callback_id, cost FROM callbacks ORDER BY 1") == [("C1", None), ("C2", None), ("C3", 12.0)]
    assert firm.reasons()[0].startswith("the column writes amounts in £ and €; write all in the firm's currency")

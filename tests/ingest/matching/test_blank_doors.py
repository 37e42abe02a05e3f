"""`fitback match` on logs of callbacks that leave doors blank: not known, or the one above."""

import pytest

from pipeline.ingest.matching.match import match_files
from tests.ingest.matching.test_mapped_sheets import write_sheet
from tests.ingest.matching.test_match import add_doors, day, matched

LOG = ["Date", "Door", "Customer name", "Problem"]


def log_rows(customers):
    """A log of callbacks in which every third row names no door."""
    doors = [f"N{1 + number % 4}" if number % 3 else "" for number in range(1, 13)]
    notes = ("water coming in", "hard to slide", "door dropped", "lock will not engage", "draughty")
    rows = enumerate(zip(doors, customers, strict=True))
    return [LOG, *([day(60 + n), door, customer, notes[n % 5]] for n, (door, customer) in rows)]


@pytest.mark.parametrize("heading", ["Customer name", "Who rang", "Caller"])
def test_a_blank_door_beside_a_customer_is_not_known_and_never_the_one_above(empty_firm, heading):
    add_doors(empty_firm, ["N1", "N2", "N3", "N4"])
    heads, *rows = log_rows([f"Mx {n}" for n in range(12)])
    write_sheet(empty_firm.folder / "service log.xlsx", [[*heads[:2], heading, *heads[3:]], *rows])
    matched(empty_firm, "service log.xlsx")
    empty_firm.take_in()
    assert empty_firm.ask("SELECT count(*), count(install_id) FROM callbacks") == [(12, 8)]


def test_a_door_that_is_blank_with_its_customer_is_the_one_above_and_that_is_told(empty_firm):
    add_doors(empty_firm, ["N1", "N2", "N3", "N4"])
    write_sheet(empty_firm.folder / "service log.xlsx", log_rows([f"Mx {n}" if n % 3 else "" for n in range(1, 13)]))
    told = match_files([empty_firm.folder / "service log.xlsx"], is_terminal=False).sentences
    empty_firm.take_in()
    assert empty_firm.ask("SELECT count(*), count(install_id) FROM callbacks") == [(12, 12)]
    assert any("a blank under 'Door'" in line and "is read as the cell above" in line for line in told)

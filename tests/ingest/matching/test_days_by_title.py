"""Days of readings and checks of one row, also called after the sheet that they stand in.

All invented; how such sheets look is common practice, no source.
"""

import pytest

from tests.ingest.matching.test_match import add_doors, day, matched, write_sheets


@pytest.mark.parametrize(
    ("heading", "said"), [("Walk date", True), ("Date of walk", True), ("Binder date", False), ("Delivery date", False)]
)
def test_a_day_called_after_its_sheet_is_that_of_its_checks(empty_firm, heading, said):
    doors = [f"M{n}" for n in range(1, 6)]
    add_doors(empty_firm, doors)
    rows = [[door, day(n), "Y", "N", 2, 3] for n, door in enumerate(doors, 1)]
    heads = ["Door", heading, "End dams sealed", "Handles smooth", "Sill L", "Sill R"]
    write_sheets(empty_firm.folder / "qa.xlsx", {"Walk round, delivery": [heads, *rows]})
    matched(empty_firm, "qa.xlsx")
    empty_firm.take_in()
    days = [(day(n).date(),) if said else (None,) for n in range(1, 6)]
    assert empty_firm.ask("SELECT DISTINCT checked_on FROM checks ORDER BY 1") == (days if said else days[:1])
    assert empty_firm.ask("SELECT DISTINCT read_on FROM readings ORDER BY 1") == (days if said else days[:1])


@pytest.mark.parametrize(("heading", "both"), [("Date", True), ("Inspection date", True), ("Date measured", False)])
def test_the_day_of_a_row_is_that_of_its_readings_and_of_its_checks(empty_firm, heading, both):
    add_doors(empty_firm, ["M1", "M2"])
    rows = [[door, day(n), "Y", 2, 3] for n, door in enumerate(["M1", "M2"], 1)]
    heads = ["Door", heading, "End dams sealed", "Sill L", "Sill R"]
    write_sheets(empty_firm.folder / "qa.xlsx", {"QA": [heads, *rows]})
    matched(empty_firm, "qa.xlsx")
    empty_firm.take_in()
    days = [(day(n).date(),) for n in (1, 2)]
    assert empty_firm.ask("SELECT DISTINCT read_on FROM readings ORDER BY 1") == days
    assert empty_firm.ask("SELECT DISTINCT checked_on FROM checks ORDER BY 1") == (days if both else [(None,)])

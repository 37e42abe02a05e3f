"""Workbooks as a whole: which of their sheets and rows are told as not read.

All invented; how they look is common practice, no source.
"""

from pipeline.ingest.matching.match import match_files
from tests.ingest.matching.test_match import write_sheets


def test_a_sheet_that_another_record_is_made_of_is_not_told_as_unread(empty_firm) -> None:
    doors = [["Door no", "Team", "Fitted", "Leaves"], ["D1", "Ash", "2025-02-03", 3], ["D2", "Elm", "2025-02-14", 4]]
    calls = [["Ticket", "Door no", "Rang", "Problem"], ["T1", "D1", "2025-05-02", "door dropped and drags"]]
    write_sheets(empty_firm.folder / "Book.xlsx", {"Doors": doors, "Calls": calls, "Ideas": [["new van?"]]})
    match_files([empty_firm.folder / "Book.xlsx"], is_terminal=False)
    empty_firm.take_in()
    told = empty_firm.ask("SELECT record, reason FROM files ORDER BY 1")
    assert [record for record, _ in told] == ["callbacks", "installs"]
    assert told[0][1] is None
    assert "sheet Ideas not read" in told[1][1]
    assert "Calls" not in told[1][1]


def test_totals_of_a_month_are_no_door(empty_firm) -> None:
    rows = ["Door no,Team,Fitted,Leaves,Value", "D1,Ash,2025-02-03,3,4000", "D2,Elm,2025-02-14,4,5000"]
    rows += [",,February total,,9000", "D3,Ash,2025-03-03,3,4000", ",,March total:,,4000", "Team totals,,,7,13000"]
    empty_firm.write("Book.csv", "\n".join(rows))
    match_files([empty_firm.folder / "Book.csv"], is_terminal=False)
    empty_firm.take_in()
    assert empty_firm.ask("SELECT install_id FROM installs ORDER BY 1") == [("D1",), ("D2",), ("D3",)]
    assert empty_firm.set_aside() == []

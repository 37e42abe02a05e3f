"""A second file of the same name but for the year: its mapping, what is new in it, and what is told of that."""

from pipeline.ingest.matching.match import match_files
from tests.ingest.matching.test_mapped_sheets import write_sheet
from tests.ingest.matching.test_match import write_sheets

DOORS = [["Door ref", "Team", "Date fitted", "Width (mm)"], ["D1", "Alder", "2024-01-10", 4200]]
NEXT = [["Door ref", "Team", "Date fitted", "Width (mm)"], ["D2", "Alder", "2025-01-10", 3000]]
NEXT_WIDER = [[*NEXT[0], "Colour", "Sill level L", "Sill level R"], [*NEXT[1], "RAL 7016", 1.5, 0]]


def matched(firm, *names):
    return match_files([firm.folder / name for name in names], is_terminal=False)


def said(summary):
    return " ".join(summary.sentences)


def test_columns_that_are_new_in_next_years_file_are_read(empty_firm):
    write_sheet(empty_firm.folder / "Doors 2024.xlsx", DOORS)
    write_sheet(empty_firm.folder / "Doors 2025.xlsx", NEXT_WIDER)
    matched(empty_firm, "Doors 2024.xlsx", "Doors 2025.xlsx")
    empty_firm.take_in()
    assert empty_firm.ask("SELECT install_id FROM installs ORDER BY 1") == [("D1",), ("D2",)]
    assert empty_firm.ask("SELECT install_id, value FROM readings ORDER BY ALL") == [("D2", 0.0), ("D2", 1.5)]


def test_a_new_column_that_no_record_has_is_told_beside_the_mapping_that_reads_the_rest(empty_firm):
    write_sheet(empty_firm.folder / "Doors 2024.xlsx", DOORS)
    write_sheet(empty_firm.folder / "Doors 2025.xlsx", [[*NEXT[0], "Photo"], [*NEXT[1], "p1"]])
    summary = matched(empty_firm, "Doors 2024.xlsx", "Doors 2025.xlsx")
    assert "Doors 2025.xlsx is read by the same mapping, but for columns 'Photo': nothing is read from there" in said(
        summary
    )


def test_a_sheet_that_is_new_in_next_years_file_is_read(empty_firm):
    calls = [["Call no", "Door ref", "Called", "Fault"], ["C1", "D2", "2025-03-10", "draught"]]
    write_sheets(empty_firm.folder / "Book 2024.xlsx", {"Doors": DOORS})
    write_sheets(empty_firm.folder / "Book 2025.xlsx", {"Doors": NEXT, "Calls": calls})
    matched(empty_firm, "Book 2024.xlsx", "Book 2025.xlsx")
    empty_firm.take_in()
    assert empty_firm.ask("SELECT callback_id FROM callbacks") == [("C1",)]
    assert empty_firm.ask("SELECT count(*) FROM installs") == [(2,)]


def test_files_alike_share_one_mapping_also_where_neither_reads_all_its_sheets(empty_firm):
    rota = [["Monday", "Tuesday"], ["off", "off"]]
    write_sheets(empty_firm.folder / "Book 2024.xlsx", {"Doors": DOORS, "Rota": rota})
    write_sheets(empty_firm.folder / "Book 2025.xlsx", {"Doors": NEXT, "Rota": rota})
    summary = matched(empty_firm, "Book 2024.xlsx", "Book 2025.xlsx")
    (one,) = summary.matched
    assert "Book 2025.xlsx is read by the same mapping" in one.notes

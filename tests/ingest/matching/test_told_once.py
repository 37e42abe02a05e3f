"""What `fitback match` and a run tell of own sheets, said once."""

from pipeline.ingest.matching.match import match_files
from tests.ingest.matching.test_match import day, matched, write_sheets


def test_days_that_can_be_mixed_up_are_told_once_however_many_they_are(empty_firm):
    doors = [[f"U{n}", "Elm", f"{n}.4.2025", 3] for n in range(1, 9)]
    write_sheets(empty_firm.folder / "doors.xlsx", {"D": [["Door no", "Crew", "Fitted on", "Leaves"], *doors]})
    told = match_files([empty_firm.folder / "doors.xlsx"], is_terminal=False).sentences
    (line,) = [one for one in told if "of them set aside" in one]
    assert line.count("day and month can be mixed up") == 1


def test_one_file_that_makes_several_records_is_one_file(empty_firm):
    doors = [[f"U{n}", "Elm", day(n), 3, n % 2, 0, 1] for n in range(1, 9)]
    heads = ["Door no", "Crew", "Fitted on", "Leaves", "Sill level left", "Sill level centre", "Sill level right"]
    write_sheets(empty_firm.folder / "doors.xlsx", {"D": [heads, *doors]})
    matched(empty_firm, "doors.xlsx")
    empty_firm.take_in()
    assert {count for (count,) in empty_firm.ask("SELECT count(*) FROM readings")} == {24}
    empty_firm.take_in()
    assert empty_firm.said == ["Reading 1 file.", "No file to read; 1 unchanged since the last run."]

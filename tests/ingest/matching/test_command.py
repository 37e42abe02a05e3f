"""The command `fitback match` and what the README says of it."""

import json
import re
from pathlib import Path

import pytest
from typer.testing import CliRunner

from pipeline.cli import app
from pipeline.ingest.declared.mapping_tables import read_mapping
from tests.ingest.matching.test_mapped_sheets import write_sheet
from tests.ingest.matching.test_match import write_sheets

README = Path(__file__).parents[3] / "README.md"
ROWS = [["Door ref", "Team", "Date fitted", "Width (mm)", "Photo"], ["D1", "Alder", "2025-01-10", 4200, "p1"]]


def test_the_mapping_that_the_readme_shows_is_understood(empty_firm):
    blocks = re.findall(r"```toml\n(.*?)```", README.read_text(encoding="utf-8"), re.DOTALL)
    empty_firm.write("fitback.toml", next(block for block in blocks if "[[sheet]]" in block))
    (sheet_map,) = read_mapping(empty_firm.folder)
    assert [one.record for one in sheet_map.records] == ["installs", "checks", "readings"]
    assert "leaf 2 / head gap lock" in sheet_map.headings


def test_the_command_shows_the_first_rows_and_says_what_has_no_place(empty_firm):
    write_sheet(empty_firm.folder / "site.xlsx", ROWS)
    done = CliRunner().invoke(app, ["match", str(empty_firm.folder / "site.xlsx")])
    assert done.exit_code == 0, done.output
    assert "4 of 5 columns placed" in done.output
    assert re.search(r"install_id +crew +width_mm +fitted_on\n +D1 +Alder +4200 +2025-01-10", done.output)
    assert "not read: 'Photo'" in done.output
    assert f"fitback check {empty_firm.folder}" in done.output


def test_of_a_workbook_of_several_tables_every_remark_says_which_sheet_it_is_of(empty_firm):
    calls = [["Call no", "Door ref", "Called", "Fault", "Mood"], ["C1", "D1", "2025-03-10", "draught", "fair"]]
    write_sheets(empty_firm.folder / "site.xlsx", {"Doors": ROWS, "Calls": calls})
    done = CliRunner().invoke(app, ["match", str(empty_firm.folder / "site.xlsx")])
    assert done.exit_code == 0, done.output
    assert "\n  sheet Doors: not read: 'Photo'" in done.output
    assert "\n  sheet Calls: not read: 'Mood'" in done.output


@pytest.mark.parametrize("has_doors", [True, False])
def test_calls_without_any_list_of_doors_are_told_to_want_one(empty_firm, has_doors):
    """Before, the mapping looked complete, and the run after it ended for want of a door."""
    calls = [["Call no", "Door ref", "Called", "Fault"], ["C1", "D1", "2025-03-10", "draught"]]
    write_sheet(empty_firm.folder / "calls.xlsx", calls)
    if has_doors:
        empty_firm.write("installs.csv", "install_id,crew,fitted_on\nD1,Alder,2025-01-10\n")
    done = CliRunner().invoke(app, ["match", str(empty_firm.folder / "calls.xlsx")])
    assert done.exit_code == 0, done.output
    assert ("No file here lists the doors fitted" in " ".join(done.output.split())) is not has_doors


def test_the_command_answers_a_program_in_json(empty_firm):
    write_sheet(empty_firm.folder / "site.xlsx", ROWS)
    done = CliRunner().invoke(app, ["match", str(empty_firm.folder / "site.xlsx"), "--json"])
    (one,) = json.loads(done.output)["files"]
    assert (one["columns"], one["placed"], one["no_place"]) == (5, 4, ["Photo"])
    assert one["rows"] == [{"sheet": "Jan", "record": "installs", "rows": 1, "set_aside": 0}]


def test_a_file_that_is_no_spreadsheet_ends_in_one_sentence(empty_firm):
    empty_firm.write("site.xlsx", "not a workbook")
    done = CliRunner().invoke(app, ["match", str(empty_firm.folder / "site.xlsx")])
    assert done.exit_code == 2
    assert "site.xlsx cannot be matched" in done.output
    assert "Traceback" not in done.output


COMPOUND = bytes.fromhex("D0CF11E0A1B11AE1")  # how a workbook under a password begins (MS-CFB 2.2, from memory)


@pytest.fixture
def with_bad_files(empty_firm):
    """Sites in good order, and beside them what lies in the folders of offices."""
    write_sheet(empty_firm.folder / "site.xlsx", ROWS)
    empty_firm.write("a locked.xlsx", COMPOUND + "EncryptedPackage".encode("utf-16-le"))
    empty_firm.write("b empty.xlsx", b"")
    write_sheet(empty_firm.folder / "c blank.xlsx", [])
    empty_firm.write("d note.xlsx", "not a workbook")
    empty_firm.write("e plan.pdf", "%PDF")
    empty_firm.write("f blank.csv", "\n")
    empty_firm.write("~$site.xlsx", "open")
    (empty_firm.folder / "old").mkdir()
    return empty_firm


WHY = (
    (r"a locked\.xlsx", r"cannot be matched: the workbook is locked by a password; save it without one"),
    (r"b empty\.xlsx", r"cannot be matched: the file is empty; .*"),
    (r"c blank\.xlsx", r"cannot be matched: none of its visible sheets holds anything; .*"),
    (r"d note\.xlsx", r"cannot be matched: this is not a workbook; .*"),
    (r"e plan\.pdf", r"cannot be matched; save it as \.xlsx, \.csv or \.jsonl"),
    (r"f blank\.csv", r"cannot be matched: the file is empty; .*"),
    (r"~\$site\.xlsx", r"cannot be matched: it is only the mark of a workbook that is open elsewhere"),
    (r".*old", r"is a folder; give the spreadsheets in it, such as .*old/\*\.xlsx"),
)


def asked(firm, *options):
    return CliRunner().invoke(app, ["match", *map(str, sorted(firm.folder.iterdir())), *options])


def test_files_that_cannot_be_read_are_told_in_a_sentence_each_and_hinder_no_other(with_bad_files):
    """Before, the first of them ended the command, and nothing was written."""
    done = asked(with_bad_files)
    assert done.exit_code == 0, done.output
    assert "4 of 5 columns placed" in done.output
    lines = done.output.splitlines()
    for name, why in WHY:
        assert [line for line in lines if re.fullmatch(rf"{name} {why}\.", line)], name
    (sheet_map,) = read_mapping(with_bad_files.folder)
    assert sheet_map.file == "site.xlsx"


def test_a_program_gets_them_with_why(with_bad_files):
    told = json.loads(asked(with_bad_files, "--json").output)
    assert [one["file"] for one in told["files"]] == ["site.xlsx"]
    whys = [one["why"] for one in told["not_matched"]]
    assert len(whys) == len(WHY)
    for name, why in WHY:
        assert [text for text in whys if re.fullmatch(rf"{name} {why}\.", text)], name


def test_asked_again_the_file_of_the_proposal_is_passed_over(with_bad_files):
    asked(with_bad_files)
    assert "fitback.toml cannot be matched" not in asked(with_bad_files).output


@pytest.mark.parametrize(("options", "code"), [((), 0), (("--strict",), 1), (("--strict", "--json"), 1)])
def test_exit_codes_where_one_of_the_files_cannot_be_read(empty_firm, options, code):
    write_sheet(empty_firm.folder / "site.xlsx", ROWS)
    empty_firm.write("broken.xlsx", "not a workbook")
    assert asked(empty_firm, *options).exit_code == code


def test_strictly_all_is_well_where_all_can_be_read(empty_firm):
    write_sheet(empty_firm.folder / "site.xlsx", ROWS)
    assert asked(empty_firm, "--strict").exit_code == 0


def test_quietly_the_files_that_cannot_be_read_are_still_told(empty_firm):
    write_sheet(empty_firm.folder / "site.xlsx", ROWS)
    empty_firm.write("broken.xlsx", "not a workbook")
    done = asked(empty_firm, "--quiet")
    assert done.stdout == ""
    assert done.stderr.startswith("broken.xlsx cannot be matched: this is not a workbook")


def test_where_no_file_can_be_read_each_is_told_and_nothing_is_written(empty_firm):
    empty_firm.write("a.xlsx", b"")
    empty_firm.write("b.xlsx", "not a workbook")
    done = asked(empty_firm)
    assert done.exit_code == 2
    assert "a.xlsx cannot be matched: the file is empty" in done.output
    assert "b.xlsx cannot be matched: this is not a workbook" in done.output
    assert not (empty_firm.folder / "fitback.toml").exists()


def test_a_file_that_is_read_by_the_mapping_of_another_hinders_none_where_it_is_broken(empty_firm):
    write_sheet(empty_firm.folder / "site 1.xlsx", ROWS)
    empty_firm.write("site 2.xlsx", "not a workbook")
    write_sheet(empty_firm.folder / "site 3.xlsx", ROWS)
    done = asked(empty_firm)
    assert "site 2.xlsx cannot be matched" in done.output
    assert "site 3.xlsx is read by the same mapping" in done.output

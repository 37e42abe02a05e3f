"""The command `fitback match` and what the README says of it."""

import json
import re
from pathlib import Path

from typer.testing import CliRunner

from pipeline.cli import app
from pipeline.ingest.matching.mapping import read_mapping
from tests.ingest.matching.test_mapped_sheets import write_sheet

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

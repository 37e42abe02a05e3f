"""The command: what it says, what it refuses, what it leaves alone."""

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from pipeline.cli import app

DOOR = ["sheets", "--width", "4200", "--height", "2100", "--leaves", "4"]


def test_it_says_what_to_print_and_what_to_fill(tmp_path: Path) -> None:
    out = tmp_path / "blank"
    done = CliRunner().invoke(app, [*DOOR, "--out", str(out)])
    assert done.exit_code == 0
    assert "Name each filled workbook after its door" in done.output
    names = ["checks blank 4200x2100-4.xlsx", "readings blank 4200x2100-4.xlsx", "sheet blank 4200x2100-4.html"]
    assert sorted(path.name for path in out.iterdir()) == names


def test_a_door_that_is_known_names_its_sheets(tmp_path: Path) -> None:
    done = CliRunner().invoke(app, [*DOOR, "--door", "D/42", "--out", str(tmp_path), "--json"])
    answer = json.loads(done.output)
    assert Path(answer["readings"]).name == "readings D-42.xlsx"
    assert "D/42" in Path(answer["page"]).read_text("utf-8")


def test_sheets_that_may_be_filled_in_are_never_written_over(tmp_path: Path) -> None:
    assert CliRunner().invoke(app, [*DOOR, "--out", str(tmp_path)]).exit_code == 0
    before = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    done = CliRunner().invoke(app, [*DOOR, "--out", str(tmp_path)])
    assert (done.exit_code, done.output.count("\n")) == (2, 1)
    assert "is there already and may be filled in" in done.output
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == before


@pytest.mark.parametrize(
    ("more", "says"),
    [
        (["--leaves", "0"], "--leaves 0 cannot be"),
        (["--width", "100"], "cannot be the width of a door"),
        (["--height", "30000"], "cannot be the height of a door"),
        (["--for", "nowhere"], "nowhere is no folder of records"),
    ],
)
def test_what_cannot_be_gets_one_sentence_and_writes_nothing(tmp_path: Path, more: list[str], says: str) -> None:
    out = tmp_path / "blank"
    done = CliRunner().invoke(app, [*DOOR, *more, "--out", str(out)])
    assert (done.exit_code, done.output.count("\n")) == (2, 1)
    assert says in done.output
    assert not out.exists()


def test_a_folder_that_cannot_be_made_gets_one_sentence(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("", encoding="utf-8")
    done = CliRunner().invoke(app, [*DOOR, "--out", str(tmp_path / "file")])
    assert (done.exit_code, done.output.count("\n")) == (2, 1)

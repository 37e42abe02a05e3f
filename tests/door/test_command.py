"""`fitback door ID` on a firm: numbers followed to their row, files beside the results, drawings true to the tables."""

import json
import subprocess
import sys
from pathlib import Path

import pytest
from typer.testing import CliRunner

from pipeline.cli import app
from pipeline.door.geometry import far_apart
from pipeline.door.leaves import leaves_of, lowest_leaf
from pipeline.door.places import read_of
from pipeline.door.trail import DoorTrail
from pipeline.folders import file_name
from tests.door.agreement import made_of_places
from tests.door.rows import HOSTILE
from tests.door.test_numbers import unknown


def test_each_number_is_followed_to_where_it_stands(ask):
    told = ask("D1").stdout
    assert "Door D1, crew Alder: fitted 2025-01-10, 3000 x 2100 mm." in told
    assert "  installs by hand.csv, row 2\n" in told
    assert "sill: sill_level_error: 4.0 mm, standard uncertainty" in told
    assert "(n 2 from sill_height); sill level 3: out" in told
    assert "sill_height sill at 3000 mm: 4 mm" in told
    assert "2025-01-09: readings by hand.csv, row 3\n" in told
    assert "C1 2025-02-01 draught (keyed), episode; by install_id: callbacks by hand.csv, row 2" in told


def test_what_was_read_later_is_shown_and_said_not_to_count(ask):
    assert "9 mm, 2025-03-01: readings by hand.csv, row 4 (after its time)" in ask("D1").stdout


def test_what_was_only_said_to_be_fine_is_no_number(ask):
    told = ask("D1").stdout
    assert "side_gap leaf_1: said to be fine, no number as " in told
    assert "2025-01-09: readings by hand.csv, row 5" in told


def test_a_day_that_cannot_be_yet_is_taken_as_none(ask):
    assert "frame_width sill: 3001 mm, undated: readings by hand.csv, row 6\n" in ask("D1").stdout


def test_nothing_personal_is_shown(ask):
    for told in (ask("D1").stdout, ask("D1", "--json").stdout):
        assert "Invented Person" not in told
        assert "secret" not in told


def test_whose_door_it_is_and_what_was_noted_is_told_where_asked_for(ask, firm):
    told = ask("D1", "--with-people").stdout
    assert "Customer: Invented Person, 12 Invented Road.\n" in told
    assert "  C1: a secret note\n" in told
    page = firm / "firm-fitback" / "doors_with_people" / "D1.html"
    assert f"Sheet:   {page.relative_to(firm)}\n" in told
    said = page.read_text("utf-8").replace("\N{NO-BREAK SPACE}", " ")
    assert "Customer: Invented Person, 12 Invented Road." in said
    assert "A 1 February 2025.</strong> a secret note</li>" in said
    assert said.count("This sheet holds personal data") == 1
    assert "personal data" not in Path(json.loads(ask("D1", "--json").stdout)["files"]["page"]).read_text("utf-8")


def test_json_tells_people_only_where_asked_for(ask):
    told = json.loads(ask("D1", "--with-people", "--json").stdout)
    assert told["people"]["door"] == {"customer": "Invented Person", "address": "12 Invented Road", "postcode": None}
    assert [call["note"] for call in told["people"]["calls"]] == ["a secret note"]
    assert "people" not in json.loads(ask("D1", "--json").stdout)


def test_a_door_of_nobody_on_record_says_so_and_a_hostile_name_is_text(ask, firm):
    assert "Customer: not on record, or erased.\n" in ask("Seven", "--with-people").stdout
    files = json.loads(ask(HOSTILE, "--with-people", "--json").stdout)["files"]
    assert "<img" not in Path(files["page"]).read_text("utf-8")


def test_results_without_people_are_one_sentence(ask, firm, tmp_path):
    for name in ("results.duckdb", "records.duckdb"):
        (tmp_path / name).symlink_to(firm / "firm-fitback" / name)
    found = ask("D1", "--with-people", "--out", str(tmp_path))
    assert found.exit_code == 2
    assert found.stderr.endswith("holds no people.duckdb, so no customer is known; ask without --with-people.\n")


def test_json_holds_the_same(ask):
    told = json.loads(ask("D1", "--json").stdout)
    assert told["facts"]["fitted_on"] == "2025-01-10"
    assert [row["row"] for row in told["readings"]] == [6, 5, 2, 3, 4]


def test_an_unknown_door_is_one_sentence_with_the_nearest(ask):
    found = ask("D2")
    assert found.exit_code == 2
    assert found.stderr == "There is no door D2 among the 20 taken in; did you mean D1?\n"


def test_a_number_with_a_zero_too_few_is_told_as_the_one_that_is_meant(ask):
    assert ask("D-01").stderr == "There is no door D-01 among the 20 taken in; did you mean D-000001?\n"


def test_results_beside_the_folder_of_records_one_is_in_are_found(ask, firm, monkeypatch):
    monkeypatch.chdir(firm / "firm")
    told = CliRunner().invoke(app, ["door", "D-000001"])
    assert told.exit_code == 0
    assert "Sheet:   ../firm-fitback/doors/D-000001.html\n" in told.stdout


def test_a_door_that_is_set_aside_is_told_with_its_row(ask):
    found = ask("D9")
    assert found.exit_code == 2
    assert found.stderr == (
        "Door D9 is set aside (installs by hand.csv, row 3); correct its row in set_aside.xlsx and run again.\n"
    )


def test_results_are_looked_for_here_or_named(ask, firm, tmp_path, monkeypatch):
    assert ask("D1", "--out", "firm-fitback").exit_code == 0
    assert "holds no results" in ask("D1", "--out", "firm").stderr
    monkeypatch.chdir(tmp_path)
    nowhere = CliRunner().invoke(app, ["door", "D1"])
    assert nowhere.stderr.startswith("There is no folder of results here; give it with --out DIR")


def test_the_sheet_and_the_drawing_land_beside_the_results(ask, firm):
    told = ask("D-000001").stdout
    folder = firm / "firm-fitback" / "doors"
    assert "Sheet:   firm-fitback/doors/D-000001.html\n" in told
    assert "Drawing: firm-fitback/doors/D-000001.svg, firm-fitback/doors/D-000001.png\n" in told
    assert (folder / "D-000001.html").read_text("utf-8").startswith("<!doctype html>")
    assert (folder / "D-000001.png").read_bytes().startswith(b"\x89PNG")


def test_json_says_where_the_files_lie(ask):
    files = json.loads(ask("D-000001", "--json").stdout)["files"]
    assert {Path(path).suffix for path in files.values()} == {".html", ".svg", ".png"}
    assert all(Path(path).is_file() for path in files.values())


def test_where_no_sheet_can_be_written_the_trail_is_told_all_the_same(ask, firm, tmp_path):
    copy = tmp_path / "copy"
    copy.mkdir()
    for name in ("results.duckdb", "records.duckdb"):
        (copy / name).symlink_to(firm / "firm-fitback" / name)
    (copy / "doors").write_text("a file where the folder should be")
    found = ask("D1", "--out", str(copy))
    assert found.exit_code == 0
    assert "Door D1, crew Alder" in found.stdout
    assert f"No sheet was made: {copy.resolve() / 'doors'} cannot be written (" in found.stdout
    assert json.loads(ask("D1", "--out", str(copy), "--json").stdout)["files"] is None


@pytest.mark.parametrize(
    "install_id", ["../../x", "a/b", "a\\b", "", ".", "CON", "NUL", "x" * 10_000, HOSTILE, "Ä", "a\x00b"]
)
def test_a_file_name_is_plain_and_short_whatever_the_number(install_id):
    name = file_name(install_id)
    assert 0 < len(name) <= 70
    assert set(name) <= set("ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_")
    assert not name.startswith("-")
    assert name not in ("CON", "NUL")


def test_two_doors_never_share_a_file_name_even_where_case_does_not_count():
    names = [
        file_name(name).casefold() for name in ("D-1", "d-1", "D 1", "D/1", "D.1", "x" * 61, "x" * 62, "é", "e\u0301")
    ]
    assert len(set(names)) == len(names)
    assert file_name("D-000105") == "D-000105"


def test_a_door_with_a_hostile_number_gets_its_sheet(ask, firm):
    files = json.loads(ask(HOSTILE, "--json").stdout)["files"]
    assert Path(files["page"]).parent == firm / "firm-fitback" / "doors"
    page = Path(files["page"]).read_text("utf-8")
    assert "<img" not in page
    assert "&lt;img src=x onerror=alert(1)&gt;" in page


def test_the_command_loads_neither_the_chart_library_nor_what_takes_records_in():
    code = "import sys, pipeline.door.write; print(*sys.modules)"
    loaded = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout.split()
    assert {"altair", "pipeline.ingest.take", "pipeline.model.study"}.isdisjoint(loaded)


def test_the_drawings_and_the_tables_are_made_of_the_same_places(trails: dict[str, DoorTrail]) -> None:
    compared = 0
    for trail in trails.values():
        table = {row["deviation"]: row["value"] for row in trail.deviations}
        for name, value in made_of_places(trail):
            if name in table:
                assert value == pytest.approx(table[name], abs=1e-6), (trail.facts["install_id"], name)
                compared += 1
    assert compared > 100


def test_fixings_that_are_drawn_too_far_apart_are_those_that_the_table_calls_out(trails: dict[str, DoorTrail]) -> None:
    seen = set()
    for trail in trails.values():
        found = read_of(trail.readings, trail.facts["width_mm"], trail.facts["height_mm"])
        places = tuple(spot.value for spot in found.of("fixing", "sill"))
        for row in trail.limits:
            if row["deviation"] == "sill_fixing_spacing" and row["decision"] in ("out", "within"):
                assert bool(far_apart(places, row["upper_limit"])) == (row["decision"] == "out")
                seen.add(row["decision"])
    assert "within" in seen


def test_the_lowest_leaf_is_that_of_the_table(trails: dict[str, DoorTrail]) -> None:
    found = 0
    for trail in trails.values():
        read_here = read_of(trail.readings, trail.facts["width_mm"], trail.facts["height_mm"])
        drop = next((row["value"] for row in trail.deviations if row["deviation"] == "leaf_drop"), None)
        leaf = lowest_leaf(leaves_of(read_here, trail.facts["leaves"]), drop)
        assert (leaf is None) == (drop is None)
        found += leaf is not None
    assert found > 5


def test_every_number_on_the_sheets_of_a_firm_is_in_its_tables(trails: dict[str, DoorTrail]) -> None:
    assert {name: found for name, trail in trails.items() if (found := unknown(trail))} == {}

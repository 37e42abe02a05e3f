"""`fitback door ID`: every number of one door followed to its file, sheet and row; unknown doors; which results."""

import json

import pytest
from typer.testing import CliRunner

from pipeline.cli import app
from pipeline.progress import Silence
from pipeline.run import run_firm

INSTALLS = "install_id,crew,fitted_on,width_mm,height_mm,customer\nD1,Alder,2025-01-10,3000,2100,Invented Person\n"
INSTALLS += "D9,Alder,31/13/2025,3000,2100,\n"
READINGS = """install_id,measure,member,position_mm,value,unit,read_on
D1,sill_height,sill,0,0,mm,2025-01-09
D1,sill_height,sill,3000,0.4,cm,2025-01-09
D1,sill_height,sill,3000,9,mm,2025-03-01
D1,side_gap,leaf_1,,ok,mm,2025-01-09
D9,sill_height,sill,0,0,mm,2025-01-09
"""
CALLBACKS = "callback_id,install_id,reported_on,fault,note\nC1,D1,2025-02-01,draught,a secret note\n"


@pytest.fixture(scope="module")
def firm(tmp_path_factory):
    """A folder in which one firm's results lie."""
    here = tmp_path_factory.mktemp("doors")
    (here / "firm").mkdir()
    for name, text in (("installs", INSTALLS), ("readings", READINGS), ("callbacks", CALLBACKS)):
        (here / "firm" / f"{name}.csv").write_text(text)
    (here / "firm" / "fitback.toml").write_text("as_of = 2025-06-30\n")
    run_firm(here / "firm", None, Silence())
    return here


@pytest.fixture
def ask(firm, monkeypatch):
    """Runs the command in the folder in which the results lie."""
    monkeypatch.chdir(firm)
    return lambda *arguments: CliRunner().invoke(app, ["door", *arguments])


def test_each_number_is_followed_to_where_it_stands(ask):
    told = ask("D1").stdout
    assert "Door D1, crew Alder: fitted 2025-01-10, 3000 x 2100 mm." in told
    assert "  installs.csv, row 2\n" in told
    assert "sill: sill_level_error: 4 mm, standard uncertainty" in told
    assert "(n 2 from sill_height); sill level 3: out" in told
    assert "sill_height sill at 3000 mm: 4 mm" in told
    assert "2025-01-09: readings.csv, row 3\n" in told
    assert "C1 2025-02-01 draught (keyed), episode; by install_id: callbacks.csv, row 2" in told


def test_what_was_read_later_is_shown_and_said_not_to_count(ask):
    assert "9 mm, 2025-03-01: readings.csv, row 4 (after its time)" in ask("D1").stdout


def test_what_was_only_said_to_be_fine_is_no_number(ask):
    told = ask("D1").stdout
    assert "side_gap leaf_1: said to be fine, no number as " in told
    assert "2025-01-09: readings.csv, row 5" in told


def test_nothing_personal_is_shown(ask):
    for told in (ask("D1").stdout, ask("D1", "--json").stdout):
        assert "Invented Person" not in told
        assert "secret" not in told


def test_json_holds_the_same(ask):
    told = json.loads(ask("D1", "--json").stdout)
    assert told["facts"]["fitted_on"] == "2025-01-10"
    assert [row["row"] for row in told["readings"]] == [5, 2, 3, 4]


def test_an_unknown_door_is_one_sentence_with_the_nearest(ask):
    found = ask("D2")
    assert found.exit_code == 2
    assert found.stderr == "There is no door D2 among the 1 taken in; did you mean D1?\n"


def test_a_door_that_is_set_aside_is_told_with_its_row(ask):
    found = ask("D9")
    assert found.exit_code == 2
    assert found.stderr == (
        "Door D9 is set aside (installs.csv, row 3); correct its row in set_aside.xlsx and run again.\n"
    )


def test_results_are_looked_for_here_or_named(ask, firm, tmp_path, monkeypatch):
    assert ask("D1", "--out", "firm-fitback").exit_code == 0
    assert "holds no results" in ask("D1", "--out", "firm").stderr
    monkeypatch.chdir(tmp_path)
    nowhere = CliRunner().invoke(app, ["door", "D1"])
    assert nowhere.stderr.startswith("There is no folder of results here; give it with --out DIR")

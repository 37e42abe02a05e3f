"""The main job whole, on a small simulated firm: what it leaves, what a second run changes, and what a stop spares."""

import json
import os
import re
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import duckdb
import polars as pl
import pytest
from polars.testing import assert_frame_equal
from typer.testing import CliRunner, Result

from pipeline.cli import app
from pipeline.demo import simulate, write_firm
from pipeline.folders import left_as_found
from pipeline.progress import Silence
from pipeline.publish import PREVIOUS, RESULTS
from pipeline.run import run_firm

pytestmark = pytest.mark.usefixtures("drawings_kept")

PAGES = ("index", "quality", "training", "owner", "records")


@pytest.fixture(scope="session")
def firm_folder(tmp_path_factory) -> Path:
    """The records of 60 doors and 3 crews."""
    folder = tmp_path_factory.mktemp("firm") / "doors"
    write_firm(simulate(doors=60, crews=3, seed=3), folder)
    return folder


@pytest.fixture(scope="session")
def first_run(firm_folder: Path) -> Path:
    """The output folder of a first run; to be copied before it is changed."""
    return run_firm(firm_folder, None, Silence()).out


@pytest.fixture
def firm(firm_folder: Path, first_run: Path, tmp_path: Path) -> Path:
    """A copy of the records, with a copy of the first run's output beside them."""
    shutil.copytree(firm_folder, tmp_path / "doors")
    shutil.copytree(first_run, tmp_path / "doors-fitback")
    return tmp_path / "doors"


def invoke(*arguments: object) -> Result:
    return CliRunner().invoke(app, [str(argument) for argument in arguments])


def rows(out: Path, query: str, name: str = RESULTS) -> list[tuple]:
    with duckdb.connect(out / name, read_only=True) as results:
        return results.execute(query).fetchall()


def run_ids(out: Path) -> set[str]:
    ids = {row[0] for row in rows(out, "SELECT run_id FROM runs")}
    return ids | {(out / name / "run.txt").read_text().strip() for name in ("tables", "pages")}


def rebuilt(out: Path) -> set[str]:
    return {row[0] for row in rows(out, 'SELECT "table" FROM build_log WHERE is_rebuilt')}


def test_a_run_leaves_records_results_tables_and_pages_under_one_run_id(first_run):
    kept = {path.name for path in first_run.iterdir() if not path.name.startswith(".")}
    assert kept == {"records.duckdb", "people.duckdb", "results.duckdb", "tables", "pages", "fitback.xlsx"}
    assert not (first_run / ".next").exists()
    assert len(run_ids(first_run)) == 1
    for page in PAGES:
        assert (first_run / f"pages/{page}.html").stat().st_size > 1000


def test_each_published_table_reads_the_same_from_csv_parquet_and_results(first_run):
    names = {path.stem for path in (first_run / "tables").glob("*.parquet")}
    assert {"set_aside", "deviations", "limit_decisions", "callback_rates", "effects", "weak_steps"} <= names
    for name in names:
        frame = pl.read_parquet(first_run / f"tables/{name}.parquet")
        assert [(frame.height,)] == rows(first_run, f"SELECT count(*) FROM {name}")
        assert pl.read_csv(first_run / f"tables/{name}.csv", infer_schema=False).shape == frame.shape


def test_a_second_run_on_the_same_records_builds_nothing_anew_and_gives_the_same_tables(firm):
    out = firm.with_name("doors-fitback")
    before = {path.name: path.read_bytes() for path in (out / "tables").glob("*.csv")}
    first_ids = run_ids(out)
    assert invoke("run", firm).exit_code == 0
    after = {path.name: path.read_bytes() for path in (out / "tables").glob("*.csv")}
    assert [name for name in before if after[name] != before[name] and name != "intake_account.csv"] == []
    reads_files = {"intake_account"}  # a file taken in before is now `unchanged`
    assert rebuilt(out) <= reads_files
    assert run_ids(out) != first_ids
    assert {row[0] for row in rows(out, "SELECT run_id FROM runs", PREVIOUS)} == first_ids - run_ids(out)


def test_a_build_from_nothing_gives_the_same_tables_as_one_that_copied(firm, first_run):
    out = firm.with_name("again")
    run_firm(firm, out, Silence())
    for path in (first_run / "tables").glob("*.parquet"):
        # sums of doubles differ in the last digits with the order in which threads add them
        before, after = (pl.read_parquet(folder / "tables" / path.name) for folder in (first_run, out))
        assert_frame_equal(before, after, rel_tol=1e-9, abs_tol=1e-12)


def test_a_setting_that_only_prices_read_leaves_the_deviations_alone(firm):
    settings = firm / "fitback.toml"
    lines = [line for line in settings.read_text("utf-8").splitlines() if not line.startswith("labour_rate")]
    settings.write_text("\n".join([*lines, "labour_rate = 91.5"]), encoding="utf-8")
    out = firm.with_name("doors-fitback")
    assert invoke("run", firm).exit_code == 0
    assert "staged_callbacks" in rebuilt(out)
    assert not {"deviations", "limit_decisions", "staged_installs", "door_time", "reading_fits"} & rebuilt(out)


def test_an_output_folder_inside_the_records_is_never_read(firm):
    outside = invoke("run", firm, "--json")
    shutil.copytree(firm.with_name("doors-fitback"), firm / "results")
    inside = invoke("run", firm, "--out", firm / "results", "--json")
    assert inside.exit_code == 0, inside.output
    assert json.loads(inside.stdout)["rows"] == json.loads(outside.stdout)["rows"]


def test_the_answers_are_those_of_the_tables(firm):
    answers = json.loads(invoke("run", firm, "--json").stdout)
    out = firm.with_name("doors-fitback")
    columns = "rate, rate_low, rate_high, callbacks, doors, door_years"
    expected = rows(out, f"SELECT {columns} FROM callback_rates WHERE crew = 'all'")[0]
    links = rows(out, "SELECT count(*) FILTER (WHERE install_id IS NULL), count(*) FROM linked_callbacks")[0]
    ((others,),) = rows(out, "SELECT callbacks_all - callbacks FROM callback_rates WHERE crew = 'all'")
    assert tuple(answers["callback_rate"].values()) == (*expected, *links, True, False, others)
    account = answers["rows"]
    assert account["rows_read"] == sum(account[f"rows_{part}"] for part in ("taken_in", "set_aside", "repeated"))
    assert Path(answers["pages"]).is_file()


def test_check_tells_the_account_and_writes_nothing(firm):
    everything = {path: path.stat().st_mtime_ns for path in firm.parent.rglob("*")}
    (firm / "notes.txt").write_text("not a record")
    result = invoke("check", firm, "--json")
    assert result.exit_code == 0, result.output
    (firm / "notes.txt").unlink()
    assert {path: path.stat().st_mtime_ns for path in firm.parent.rglob("*") if path != firm} == {
        path: time_ns for path, time_ns in everything.items() if path != firm
    }
    answers = json.loads(result.stdout)
    assert answers["by_record"]["installs"]["rows_taken_in"] == 60
    assert sum(answers["callbacks_linked"].values()) == answers["by_record"]["callbacks"]["rows_taken_in"]


def test_check_names_the_rows_that_would_be_set_aside(firm):
    with (firm / "installs.csv").open(encoding="utf-8") as file:
        header, first, *_ = file.read().splitlines()
    fields = dict(zip(header.split(","), first.split(","), strict=True))
    fields.update(install_id="X1", fitted_on="31/02/2025")
    (firm / "installs extra.csv").write_text(f"{','.join(fields)}\n{','.join(fields.values())}\n", encoding="utf-8")
    result = invoke("check", firm, "--strict")
    assert result.exit_code == 1
    assert "installs extra.csv, row 2, fitted_on, '31/02/2025': " in result.stdout
    n_lines = json.loads(invoke("check", firm, "--json").stdout)["n_set_aside"]
    assert f"lists all {n_lines:,} in tables/set_aside.csv and shows all on the records page" in result.stdout


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (["run", "nowhere"], "nowhere does not exist; give the folder that holds installs"),
        (["run", "{firm}/installs.csv"], "installs.csv is a file, not a folder of records"),
        (["run", "{firm}", "--out", "{firm}"], "--out is the folder of records itself"),
        (["run", "{firm}", "--out", "{firm}/installs.csv"], "installs.csv is a file; choose a folder."),
        (["run", "{firm}", "--out", "{firm}/installs.csv/x"], "lies below installs.csv, which is a file"),
        (["run", "{empty}"], ""),
        (["check", "{empty}"], ""),
    ],
)
def test_a_command_that_cannot_run_as_asked_says_so_in_one_sentence(firm, tmp_path, arguments, sentence):
    (tmp_path / "empty").mkdir()
    result = invoke(*[text.format(firm=firm, empty=tmp_path / "empty") for text in arguments])
    assert result.exit_code == 2, result.output
    assert result.stdout == ""
    assert sentence in result.stderr
    assert len(result.stderr.strip().splitlines()) == 1
    assert not (tmp_path / "empty-fitback").exists()


def test_a_second_run_says_that_nothing_changed_and_no_sentence_twice(firm):
    done = invoke("run", firm)
    told, answers = done.stderr.splitlines(), done.stdout.splitlines()
    assert told[0].startswith("No file to read; ")
    assert re.fullmatch(r"Nothing changed; all \d+ tables are as they were\.", told[1])
    assert not set(told) & set(answers)
    assert not any("README" in line for line in answers)


def test_with_crew_codes_nothing_that_is_handed_on_has_a_name_and_codes_stay(firm):
    out = firm.with_name("doors-fitback")
    crews = [crew for (crew,) in rows(out, "SELECT DISTINCT crew FROM staged_installs")]
    told = invoke("run", firm, "--crew-codes")
    assert "Crews are shown as codes; who is who stands in" in told.stdout
    key = (out / "crew_codes.csv").read_text(encoding="utf-8")
    assert all(crew in key for crew in crews)
    door = rows(out, "SELECT min(install_id) FROM staged_installs")[0][0]
    handed_on = [path.read_text("utf-8") for path in (*out.glob("pages/**/*.html"), *out.glob("tables/*.csv"))]
    handed_on += [told.stdout, invoke("door", door, "--out", out).stdout]
    assert not [crew for crew in crews for text in handed_on if crew in text]
    customer = rows(out, "SELECT customer FROM install_people WHERE customer IS NOT NULL", "people.duckdb")[0][0]
    assert invoke("forget", customer, "--all", "--out", out).exit_code == 0
    again = [path.read_text("utf-8") for path in (*out.glob("pages/**/*.html"), *out.glob("tables/*.csv"))]
    assert not [crew for crew in crews for text in again if crew in text]
    (firm / "fitback.toml").write_text("crew_codes = true\n", encoding="utf-8")
    assert invoke("run", firm).exit_code == 0
    assert (out / "crew_codes.csv").read_text(encoding="utf-8") == key


def start(folder: Path, *options: str) -> subprocess.Popen[bytes]:
    command = [sys.executable, "-m", "pipeline", "run", str(folder), *options]
    return subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE)


@pytest.mark.skipif(sys.platform == "win32", reason="signals")
@pytest.mark.parametrize("seconds", [0.8, 2.0])
def test_a_run_killed_while_it_works_spares_the_last_results_and_the_next_completes(firm, seconds):
    out = firm.with_name("doors-fitback")
    before = run_ids(out)
    (firm / "fitback.toml").open("a", encoding="utf-8").write("\ncallback_cost = 212.0\n")
    process = start(firm)
    time.sleep(seconds)
    process.kill()
    process.communicate()
    assert len(run_ids(out)) == 1 or process.returncode == 0
    assert run_ids(out) == before or process.returncode == 0
    assert invoke("run", firm).exit_code == 0
    assert len(run_ids(out)) == 1
    assert run_ids(out) != before
    assert not (out / ".next").exists()


@pytest.mark.skipif(sys.platform == "win32", reason="signals")
def test_ctrl_c_ends_in_one_sentence_and_spares_the_last_results(firm):
    out = firm.with_name("doors-fitback")
    before = run_ids(out)
    process = start(firm)
    deadline = time.monotonic() + 20
    while not (out / ".next").exists() and time.monotonic() < deadline:
        time.sleep(0.01)
    os.kill(process.pid, signal.SIGINT)
    _, told = process.communicate(timeout=60)
    assert process.returncode == 130
    assert told.decode().splitlines()[-1] == "Stopped; the last results are as they were."
    assert run_ids(out) == before


@pytest.mark.skipif(sys.platform == "win32", reason="signals")
def test_ctrl_c_on_a_first_run_leaves_nothing_behind(firm):
    out = firm.parent / "new" / "results"
    process = start(firm, "--out", str(out))
    deadline = time.monotonic() + 20
    while not (out / ".next").exists() and time.monotonic() < deadline:
        time.sleep(0.01)
    os.kill(process.pid, signal.SIGINT)
    _, told = process.communicate(timeout=60)
    assert process.returncode == 130
    assert told.decode().splitlines()[-1] == "Stopped; nothing was put in place."
    assert not out.parent.exists()


def test_a_stop_once_results_are_in_place_keeps_them(tmp_path):
    out = tmp_path / "out"

    def stopped_late() -> None:
        with left_as_found(out):
            out.mkdir()
            (out / RESULTS).touch()
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        stopped_late()
    assert (out / RESULTS).exists()

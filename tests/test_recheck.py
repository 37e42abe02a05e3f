"""`fitback recheck`: new doors judged by a firm's results; what cannot be asked; nothing recorded; nothing written."""

import json

import polars as pl
import pytest
from typer.testing import CliRunner

from pipeline.cli import app
from pipeline.demo import simulate, write_firm
from pipeline.progress import Silence
from pipeline.recheck import RecheckList
from pipeline.run import run_firm

COLUMNS = ["install_id", "crew", "fault", "risk", "risk_ratio", "because", "do"]


@pytest.fixture(scope="module")
def here(tmp_path_factory):
    """A firm with results, and a folder of three new doors: a bad one, a good one, one without any record."""
    place = tmp_path_factory.mktemp("recheck")
    firm = simulate(doors=700, crews=6, seed=5, callbacks_per_door=0.9)
    write_firm(firm, place / "firm", "parquet")
    run_firm(place / "firm", None, Silence())
    crew = firm.records["crews"]["crew"][0]
    new = place / "new"
    new.mkdir()
    rows = "".join(f"{door},{crew},2025-06-20,3600,2100,4\n" for door in ("BAD", "GOOD", "BLANK"))
    (new / "installs.csv").write_text(f"install_id,crew,fitted_on,width_mm,height_mm,leaves\n{rows}")
    checks = "".join(
        f"{door},{check},{outcome}\n"
        for door, outcome in (("BAD", "fail"), ("GOOD", "pass"))
        for check in ("track_clean", "seals_continuous", "end_dams_sealed", "sill_bedded")
    )
    (new / "checks.csv").write_text(f"install_id,check,outcome\n{checks}")
    return place


@pytest.fixture
def ask(here, monkeypatch):
    monkeypatch.chdir(here)
    return lambda *words: CliRunner().invoke(app, ["recheck", *words])


def rows_of(ask):
    told = json.loads(ask("firm", "--doors", "new", "--json").stdout)
    return told, pl.DataFrame(told["rows"], infer_schema_length=None)


def test_a_bad_door_is_riskier_than_a_good_one_and_says_why(ask):
    told, rows = rows_of(ask)
    assert told["doors"] == 3
    assert set(COLUMNS) <= set(rows.columns)
    risk = {name: rows.filter(install_id=name)["risk"].sum() for name in ("BAD", "GOOD")}
    assert risk["BAD"] > risk["GOOD"]
    failed = ["track_clean", "seals_continuous", "end_dams_sealed", "sill_bedded"]
    assert rows.filter(pl.col("deviation").is_in(failed) & (pl.col("install_id") == "BAD")).height > 0
    assert rows.filter(pl.col("deviation").is_in(failed) & (pl.col("install_id") == "GOOD")).is_empty()
    assert rows["avoided_per_minute"].drop_nulls().to_list() == sorted(
        rows["avoided_per_minute"].drop_nulls(), reverse=True
    )
    assert rows["risk"].is_between(0, 1).all()


def test_what_is_known_to_be_out_is_told_before_what_is_not_recorded():
    def row(door, deviation, value, per_minute):
        return {
            "install_id": door, "crew": "A", "fault": "leak", "risk": 0.1, "risk_ratio": 2.0, "because": deviation,
            "do": "look", "deviation": deviation, "step": "sill", "value": value, "minutes": 2.0, "avoided": 0.01,
            "avoided_per_minute": per_minute, "kept": 0.8, "slope": None,
        }  # fmt: skip

    rows = [row("OPEN", "cheap", None, 0.9), row("BAD", "cheap", None, 0.8), row("BAD", "failed", 1.0, 0.1)]
    rows += [row("BAD", f"other {n}", None, 0.01) for n in range(4)]
    lines = RecheckList(rows, {}, 2, ()).sentences
    acts = [line for line in lines if line.startswith(("Door", "  1.", "  2."))]
    assert [line.split(":")[0] for line in acts[::3]] == ["Door BAD, crew A", "Door OPEN, crew A"]
    assert "failed" in acts[1]
    assert "cheap" in acts[2]
    assert "  2 more to look at on this door; --json lists all." in lines


def test_a_door_with_nothing_recorded_is_told_what_to_measure_first(ask):
    _, rows = rows_of(ask)
    blank = rows.filter(pl.col("install_id") == "BLANK")
    assert set(blank["because"]) == {"nothing recorded"}
    assert blank["do"].drop_nulls().str.contains(" first: ").all()


def test_the_list_tells_calibration_and_cautions_and_writes_nothing(ask, here):
    before = sorted(path for path in here.rglob("*"))
    done = ask("firm", "--doors", "new")
    assert done.exit_code == 0
    assert "Door BAD" in done.stdout
    assert "the risks here trust" in done.stdout
    assert "Glass and leaves are heavy" in done.stdout
    assert "Before drilling" in done.stdout
    assert "At height" in done.stdout
    assert sorted(path for path in here.rglob("*")) == before


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("firm", "--doors", "nowhere"), "nowhere does not exist"),
        (("firm", "--doors", "firm"), "is the folder of records itself"),
        (("new", "--doors", "firm"), "holds no results to judge by"),
        (("firm", "--doors", "empty"), "put installs"),
    ],
)
def test_what_cannot_be_asked_is_one_sentence(ask, here, words, says):
    (here / "empty").mkdir(exist_ok=True)
    done = ask(*words)
    assert done.exit_code == 2
    assert says in done.stderr
    assert len(done.stderr.strip().splitlines()) == 1 or words[-1] == "empty"


def test_the_table_of_the_run_has_recent_doors_that_are_not_faulty(here):
    rows = pl.read_parquet(here / "firm-fitback" / "tables" / "recheck.parquet")
    installs = pl.read_parquet(here / "firm" / "installs.parquet")
    started = pl.coalesce(pl.col("handed_over_on"), pl.col("fitted_on")).cast(pl.Date)
    joined = rows.join(installs.with_columns(started=started), on="install_id")
    assert joined.height == rows.height > 0
    assert joined.select((pl.date(2025, 6, 30) - pl.col("started")).dt.total_days().max()).item() <= 90


def test_a_new_door_that_cannot_be_taken_in_is_told_with_its_place(here, ask):
    spoilt = here / "spoilt"
    spoilt.mkdir()
    good = (here / "new/installs.csv").read_text()
    bad = good.splitlines()[1].replace("BAD", "LOST").replace("2025-06-20", "soon")
    (spoilt / "installs.csv").write_text(f"{good}{bad}\n")
    told = ask("firm", "--doors", "spoilt").stdout
    assert "Read 4 rows: 3 taken in, 1 set aside" in told
    assert "installs.csv" in told
    assert "soon" in told

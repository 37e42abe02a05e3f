"""`fitback recheck`: new doors judged by a firm's results; what cannot be asked; nothing recorded; nothing written."""

import json
import re
import shutil
import sys

import duckdb
import polars as pl
import pytest
from typer.testing import CliRunner

from pipeline.cli import app
from pipeline.demo import simulate, write_firm
from pipeline.progress import Silence
from pipeline.recheck.listing import RecheckList, calibration_sentence
from pipeline.run import run_firm
from tests.terminal import on_a_terminal

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


@pytest.fixture(scope="module")
def told(here):
    """What a program is told of the new doors."""
    with pytest.MonkeyPatch.context() as patched:
        patched.chdir(here)
        return json.loads(CliRunner().invoke(app, ["recheck", "firm", "--doors", "new", "--json"]).stdout)


@pytest.fixture(scope="module")
def rows(told):
    return pl.DataFrame(told["rows"], infer_schema_length=None)


def test_a_bad_door_is_riskier_than_a_good_one_and_says_why(told, rows):
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


def row_of(door, deviation, per_minute, **other):
    """A row of the table recheck; per_minute: callbacks avoided a minute, of two minutes."""
    nothing = deviation is None
    return {
        "install_id": door, "crew": "A", "fault": "leak", "risk": 0.1, "risk_low": 0.05, "risk_high": 0.2,
        "risk_ratio": 2.0, "because": deviation or "nothing worse", "do": None if nothing else "look",
        "deviation": deviation, "step": None if nothing else "sill", "value": 1.0, "minutes": None if nothing else 2.0,
        "avoided": None if nothing else 2 * per_minute, "avoided_per_minute": None if nothing else per_minute,
        "events": 42, "doors": 1480, "kept": 0.8, "slope": None, "slope_low": None, "slope_high": None,
        "slope_events": None, **other,
    }  # fmt: skip


def test_one_list_over_all_doors_has_the_most_callbacks_avoided_a_minute_first():
    rows = [row_of("A", "sill", 0.02), row_of("B", "frame", 0.03), row_of("B", "track", 0.01, fault="stiff")]
    listing = RecheckList([*rows, row_of("C", None, 0.0)], {}, 3, ())
    assert [(look.first["install_id"], look.first["deviation"]) for look in listing.looks] == [
        ("B", "frame"), ("A", "sill"), ("B", "track"),
    ]  # fmt: skip
    numbered = [line for line in listing.sentences if re.match(r" +\d+\. ", line)]
    assert [line.split(",")[0].strip() for line in numbered] == ["1. Door B", "2. Door A", "3. Door B"]


def test_an_act_against_several_faults_stands_once_and_counts_its_minutes_once():
    rows = [row_of("A", "sill", 0.02), row_of("B", "frame", 0.03)]
    rows.append(row_of("A", "sill", 0.02, fault="stiff", risk=0.3))
    looks = RecheckList(rows, {}, 2, ()).looks
    assert [look.first["install_id"] for look in looks] == ["A", "B"]
    assert looks[0].per_minute == pytest.approx(0.04)
    assert looks[0].avoided == pytest.approx(0.08)
    assert [row["fault"] for row in looks[0].rows] == ["stiff", "leak"]


def test_each_door_tells_its_chance_with_interval_and_callbacks_behind_it():
    rows = [row_of("A", "sill", 0.02), *(row_of("A", None, 0.0, fault=f"other {n}", risk=0.02) for n in range(5))]
    lines = RecheckList(rows, {"leak": "water ingress"}, 1, ()).sentences
    # 1 - 0.9 * 0.98^5 and 1 - 0.98^2
    assert "Door A, crew A: 19 %" in lines
    assert any("water ingress 10 % (5.0 to 20 %), 2.0 times the usual door: sill" in line for line in lines)
    assert any("(42 first callbacks, 1,480 doors)" in line for line in lines)
    assert "     2 other faults, together 4.0 %" in lines


def test_more_than_a_person_reads_is_counted_not_dropped():
    listing = RecheckList([row_of(f"{n:03}", "sill", 1 / n) for n in range(1, 60)], {}, 59, ())
    assert "29 more to look at spare less a minute; --json lists all." in listing.sentences
    assert "19 more doors are less likely to come back; --json lists all." in listing.sentences
    assert len(listing.as_json()["look_again"]) == 59


@pytest.mark.parametrize(
    ("slope", "low", "high", "says"),
    [
        (0.6, 0.4, 0.8, "less than foretold"),
        (0.9, 0.7, 1.1, "as foretold as far as chance lets one see"),
        (1.4, 1.2, 1.6, "more than foretold"),
    ],
)
def test_the_slope_is_told_as_far_as_its_interval_goes(slope, low, high, says):
    row = row_of("A", "sill", 0.1, slope=slope, slope_low=low, slope_high=high, slope_events=205)
    told = calibration_sentence(row)
    assert says in told
    assert f"205 later callbacks, differences between doors were {slope:.2f} ({low:.2f} to {high:.2f}) times" in told


def test_a_door_with_nothing_recorded_is_told_what_to_measure_first(rows):
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


def shown_at(here, width, no_colour):
    """What a terminal of that width shows, without what moves and colours; NO_COLOR leaves nothing set strong."""
    command = [sys.executable, "-m", "pipeline", "recheck", "firm", "--doors", "new", "--quiet"]
    sent = on_a_terminal(command, "stdout", here, COLUMNS=str(width), NO_COLOR=no_colour)
    assert ("\x1b[1m" in sent) == (not no_colour)
    return re.sub(r"\x1b\[[0-9;?]*[a-zA-Z]", "", sent).replace("\r", "")


@pytest.mark.parametrize(("width", "no_colour"), [(60, ""), (120, "1")])
def test_a_terminal_shows_all_of_the_list_wrapped_to_its_width(here, told, width, no_colour):
    shown = shown_at(here, width, no_colour)
    assert max(len(line) for line in shown.splitlines()) <= width
    assert "…" not in shown
    words = re.sub(r"[\s\d]+", "", shown)
    for look in told["look_again"][:30]:
        assert re.sub(r"[\s\d]+", "", look["do"])[1:] in words
    assert [door for door in ("BAD", "GOOD", "BLANK") if door not in shown] == []
    assert "Glass and leaves are heavy" in shown


def test_a_pipe_gets_plain_lines(ask):
    told = ask("firm", "--doors", "new").stdout
    assert "\x1b" not in told
    assert "─" not in told
    assert re.search(r"^ +1\. Door \w+, Crew", told, re.MULTILINE)


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("firm", "--doors", "nowhere"), "nowhere does not exist"),
        (("firm", "--doors", "firm"), "is the folder of records itself"),
        (("new", "--doors", "firm"), "new, or say with --out where they are"),
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


def test_where_crews_are_codes_no_name_is_told_not_even_one_that_is_written_wrongly(here, ask):
    coded = here / "coded"
    shutil.copytree(here / "firm-fitback", coded)
    with duckdb.connect(coded / "results.duckdb") as results:
        results.execute("UPDATE settings SET crew_codes = true")
        crews = [crew for (crew,) in results.execute("SELECT DISTINCT crew FROM staged_installs").fetchall()]
    new = here / "misspelt"
    new.mkdir()
    good = (here / "new/installs.csv").read_text()
    (new / "installs.csv").write_text(f"{good}ODD,Quillbyy,2025-06-20,3600,2100,4\n")
    (new / "crews.csv").write_text("crew\n" + "".join(f"{crew}\n" for crew in crews))
    told = ask("firm", "--doors", "misspelt", "--out", str(coded)).stdout
    assert "9 taken in, 1 set aside" in told
    assert re.search(r"\bcrew C\d\d\b", told)
    assert not [name for name in (*crews, "Quillbyy") if name in told]


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

"""The invented firm's files: written anew the same, untidy in every way they promise, with causes to be found."""

import re
from pathlib import Path
from zipfile import ZipFile

import polars as pl
import pytest

from pipeline.demo import ideal_fit
from pipeline.demo.files import demo_folder
from pipeline.demo.make import HABITS, SHEET_MONTH, demo_firm, write_demo


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("demo")
    write_demo(folder)
    return folder


@pytest.fixture(scope="module")
def cells() -> dict[str, pl.DataFrame]:
    """All CSV rows of each record, as text."""
    tables: dict[str, list[pl.DataFrame]] = {}
    for path in sorted(demo_folder().glob("*.csv")):
        tables.setdefault(re.split(r"[ .]", path.name)[0], []).append(pl.read_csv(path, infer_schema=False))
    return {name: pl.concat(parts) for name, parts in tables.items()}


def contents(path: Path) -> dict[str, bytes]:
    """What a file holds: a workbook's parts (their packing differs between versions of zlib), else its bytes."""
    if path.suffix != ".xlsx":
        return {"": path.read_bytes()}
    with ZipFile(path) as book:
        return {name: book.read(name) for name in book.namelist()}


def test_the_committed_files_are_those_that_the_simulator_writes(written: Path) -> None:
    names = sorted(path.name for path in demo_folder().iterdir())
    assert sorted(path.name for path in written.iterdir()) == names
    differing = [name for name in names if contents(demo_folder() / name) != contents(written / name)]
    assert differing == []


def test_writing_again_leaves_the_same_bytes(written: Path) -> None:
    before = {path.name: path.read_bytes() for path in written.iterdir()}
    write_demo(written)
    assert {path.name: path.read_bytes() for path in written.iterdir()} == before


def test_the_folder_says_that_it_is_invented_and_stays_small() -> None:
    assert "invented" in (demo_folder() / "README.md").read_text(encoding="utf-8")
    assert "invented firm" in (demo_folder() / "fitback.toml").read_text(encoding="utf-8")
    assert sum(path.stat().st_size for path in demo_folder().iterdir()) < 8_400_000


def test_people_are_invented(cells: dict[str, pl.DataFrame]) -> None:
    for record in ("installs", "callbacks"):
        table = cells[record]
        assert table["customer"].drop_nulls().str.contains(r"^Customer \d+$").all()
        assert table["address"].drop_nulls().str.contains(r"^\d+ Example Row$").all()
    assert cells["crews"]["crew"].str.contains(r"^Crew [A-Z][a-z]+$").all()


def test_records_come_in_several_files_one_of_them_a_workbook() -> None:
    names = {path.name for path in demo_folder().iterdir()}
    assert sum(name.startswith("readings ") for name in names) >= 24
    assert f"readings {SHEET_MONTH}.xlsx" in names
    assert {"callbacks 2023.csv", "checks 2024.csv", "installs 2025.csv", "training.csv", "instruments.csv"} <= names


def test_units_differ_from_row_to_row(cells: dict[str, pl.DataFrame]) -> None:
    units = set(cells["readings"]["unit"])
    assert {"mm", "cm", "m", "in", "deg", "quarter_turn", "N", "°C", "count"} <= units
    gaps = cells["readings"].filter((pl.col("measure") == "head_gap") & (pl.col("read_by") == HABITS.inches))
    inches = gaps.filter(pl.col("unit") == "in")["value"].cast(pl.Float64, strict=False).drop_nulls()
    assert len(inches) > 0.9 * gaps.height
    assert inches.median() < 1.0


@pytest.mark.parametrize(
    ("record", "column", "pattern"),
    [
        ("readings", "value", r"^(ok|OK|fine|level|✓)$"),
        ("readings", "value", r"^-4$"),
        ("readings", "measure", r"^sil_height$"),
        ("readings", "unit", r"^mil$"),
        ("readings", "read_on", r"^31/02/2025$"),
        ("readings", "install_id", r"^D-009999$"),
        ("installs", "fitted_on", r"^31/02/2025$"),
        ("installs", "crew", r"^Crew Adler$"),
        ("checks", "outcome", r"^yes$"),
        ("callbacks", "fault", r"^droped_leaf$"),
        ("callbacks", "fault", r";"),
        ("callbacks", "reported_on", r"^yesterday$"),
    ],
)
def test_every_kind_of_damage_is_there(cells: dict[str, pl.DataFrame], record: str, column: str, pattern: str) -> None:
    damaged = cells[record][column].str.contains(pattern).sum()
    assert 0 < damaged < 0.05 * cells[record].height


def test_rows_come_twice_and_contradict_each_other(cells: dict[str, pl.DataFrame]) -> None:
    readings = cells["readings"]
    assert readings.is_duplicated().sum() >= 200
    place = ["install_id", "measure", "member", "station", "position_mm", "read_on"]
    once = readings.unique(maintain_order=True)
    assert once.select(place).is_duplicated().sum() >= 16


def test_some_callbacks_name_only_a_job_some_nothing(cells: dict[str, pl.DataFrame]) -> None:
    callbacks = cells["callbacks"]
    no_door = callbacks.filter(pl.col("install_id").is_null())
    assert no_door["job_no"].is_not_null().sum() > 30
    assert no_door["job_no"].is_null().sum() > 10
    doors_a_job = cells["installs"].unique("install_id").group_by("job_no").len()
    assert (doors_a_job["len"] > 1).sum() > 50  # a job number does not always name one door


def test_paper_comes_late_and_the_log_begins_before_it_is_complete(cells: dict[str, pl.DataFrame]) -> None:
    callbacks = cells["callbacks"].filter(pl.col("reported_on").str.contains(r"^20\d\d-"))
    lag = callbacks["logged_on"].str.to_date() - callbacks["reported_on"].str.to_date()
    assert lag.dt.total_days().median() >= 3
    assert callbacks["logged_on"].drop_nulls().max() <= "2025-06-30"
    assert callbacks["reported_on"].min() < "2023-01-01"


def test_one_crew_joined_late_and_is_less_careful_than_most() -> None:
    firm = demo_firm()
    joined = [name for name, day in zip(firm.crews.names, firm.crews.joined_day, strict=True) if day > 0]
    assert len(joined) == 1
    assert joined[0] not in vars(HABITS).values()


def test_the_first_crew_writes_down_what_others_leave_out() -> None:
    firm = demo_firm()
    bad = firm.true["jamb_plumb_error"] > pl.Series(firm.true["jamb_plumb_error"]).quantile(0.8)
    doors = firm.doors.installs.select("install_id", "crew").with_columns(is_bad=pl.Series(bad))
    jambs = firm.readings.filter(pl.col("measure") == "jamb_face").select("install_id").unique()
    share = (
        doors.with_columns(is_read=pl.col("install_id").is_in(jambs["install_id"].implode()))
        .group_by(pl.col("crew") == "Crew Alder", "is_bad")
        .agg(pl.col("is_read").mean())
        .sort("crew", "is_bad")["is_read"]
    )
    others_good, others_bad, _, honest_bad = share.to_list()
    assert others_bad < others_good - 0.05
    assert honest_bad > others_bad + 0.05


def test_causes_are_planted_deep_enough_to_be_found() -> None:
    firm = demo_firm()
    found = ideal_fit(firm, firm.truth.filter("is_planted"))
    assert firm.truth.filter("is_planted").height >= 12
    assert found["is_strong"].sum() >= 8

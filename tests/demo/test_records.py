"""What the simulator writes: canonical columns, known words, the same bytes for the same seed, no truth beside it."""

from pathlib import Path

import polars as pl
import pytest
from python_calamine import CalamineWorkbook

from pipeline.catalogue.reader import load_catalogue
from pipeline.demo import simulate, write_firm
from pipeline.demo.doors import INSTALL_COLUMNS
from pipeline.demo.readings import KINDS, READING_COLUMNS
from pipeline.demo.simulate import Firm


@pytest.fixture(scope="module")
def firm() -> Firm:
    return simulate(doors=400, crews=8, seed=5)


def test_every_word_is_in_the_catalogue(firm: Firm) -> None:
    catalogue = load_catalogue()
    words, records = catalogue.words, firm.records
    assert set(firm.readings["measure"]) == {row.name for row in catalogue.measures}
    assert set(records["checks"]["check"]) == {row.name for row in catalogue.checks}
    assert set(records["callbacks"]["fault"]) <= {row.name for row in catalogue.faults}
    assert set(records["callbacks"]["responsibility"].drop_nulls()) <= set(words["responsibilities"])
    assert set(records["checks"]["outcome"]) <= set(words["outcomes"])
    assert set(records["training"]["step"]) <= set(catalogue.steps)
    assert set(firm.readings["unit"]) <= {row.name for row in catalogue.units}
    assert set(records["installs"]["work"]) == set(words["works"])
    assert set(records["installs"]["colour"]) == set(words["colours"])


def test_readings_lie_within_plausible_bounds(firm: Firm) -> None:
    bounds = {row.name: (row.low, row.high) for row in load_catalogue().measures}
    for (measure,), table in firm.readings.group_by("measure"):
        low, high = bounds[str(measure)]
        assert table["value"].is_between(low, high).all(), measure


def test_every_deviation_of_the_catalogue_that_is_a_cause_is_simulated(firm: Firm) -> None:
    causes = {row.name for row in load_catalogue().deviations if row.role == "cause"}
    assert causes <= set(firm.true)


def test_records_hang_together(firm: Firm) -> None:
    records, installs = firm.records, firm.records["installs"]
    assert installs.columns == INSTALL_COLUMNS
    assert firm.readings.columns == READING_COLUMNS
    assert installs["install_id"].is_unique().all()
    assert records["callbacks"]["callback_id"].is_unique().all()
    for table in (firm.readings, records["checks"], records["callbacks"]):
        assert set(table["install_id"]) <= set(installs["install_id"])
    assert set(installs["crew"]) <= set(records["crews"]["crew"])
    assert set(firm.readings["instrument"].drop_nulls()) <= set(records["instruments"]["instrument"])
    places = ["install_id", "measure", "member", "station", "position_mm"]
    assert firm.readings.select(places).is_unique().all()


def test_dates_come_in_order(firm: Firm) -> None:
    installs = firm.records["installs"]
    ended = installs.filter(
        (pl.col("surveyed_on") > pl.col("fitted_on"))
        | (pl.col("handed_over_on") < pl.col("fitted_on"))
        | (pl.col("removed_on") < pl.col("handed_over_on"))
        | (pl.col("handed_over_on") > firm.scenario.ends_on)
    )
    assert ended.is_empty()
    callbacks = firm.records["callbacks"]
    assert (callbacks["logged_on"] >= callbacks["reported_on"]).all()
    assert callbacks["reported_on"].max() <= firm.scenario.ends_on


def test_about_as_many_callbacks_as_asked_for() -> None:
    firm = simulate(doors=4000, crews=24, seed=2)
    assert firm.records["callbacks"].height == pytest.approx(1800, rel=0.1)


def test_the_same_seed_writes_the_same_bytes_and_another_does_not(tmp_path: Path) -> None:
    for name, seed in (("a", 3), ("b", 3), ("c", 4)):
        write_firm(simulate(doors=60, crews=4, seed=seed), tmp_path / name)
    files = sorted(path.name for path in (tmp_path / "a").iterdir())
    same = [(tmp_path / "a" / name).read_bytes() == (tmp_path / "b" / name).read_bytes() for name in files]
    other = [(tmp_path / "a" / name).read_bytes() == (tmp_path / "c" / name).read_bytes() for name in files]
    assert all(same)
    assert not other[files.index("readings.csv")]


def read_sheet(path: Path) -> pl.DataFrame:
    header, *rows = CalamineWorkbook.from_path(path).get_sheet_by_index(0).to_python()
    return pl.DataFrame(rows, schema=header, orient="row", strict=False)


@pytest.mark.parametrize("form", ["csv", "parquet", "xlsx"])
def test_every_form_holds_the_same_readings(tmp_path: Path, form: str) -> None:
    firm = simulate(doors=20, crews=3, seed=3)
    write_firm(firm, tmp_path, form)  # type: ignore[arg-type]
    reader = {"csv": pl.read_csv, "parquet": pl.read_parquet, "xlsx": read_sheet}[form]
    found = pl.concat([reader(path) for path in sorted(tmp_path.glob("readings*"))])
    assert found.height == firm.readings.height
    assert found["value"].cast(pl.Float64).sum() == pytest.approx(firm.readings["value"].sum())


def test_the_truth_never_lies_beside_the_records(tmp_path: Path) -> None:
    firm = simulate(doors=20, crews=3, seed=3)
    with pytest.raises(ValueError, match="must not lie beside"):
        write_firm(firm, tmp_path / "records", truth=tmp_path / "records")
    write_firm(firm, tmp_path / "records", truth=tmp_path / "truth")
    assert not any("truth" in path.name or "true" in path.name for path in (tmp_path / "records").iterdir())
    assert pl.read_parquet(tmp_path / "truth" / "truth.parquet").equals(firm.truth)


def test_a_firm_may_measure_only_some_things() -> None:
    firm = simulate(doors=50, crews=3, seed=1, measures=("sill_height", "frame_diagonal"))
    assert set(firm.readings["measure"]) == {"sill_height", "frame_diagonal"}


def test_an_instrument_has_one_error_and_every_reading_another() -> None:
    exact = simulate(doors=200, crews=4, seed=1, noise=0.0, recorded=1.0)
    rough = simulate(doors=200, crews=4, seed=1, noise=5.0, recorded=1.0)
    keys = ["install_id", "measure", "member", "station", "position_mm"]
    both = exact.readings.join(rough.readings, on=keys, nulls_equal=True, suffix="_rough")
    diagonals = both.filter(pl.col("measure") == "leaf_diagonal")
    error = diagonals["value_rough"] - diagonals["value"]
    # both sheets are rounded as well: step / sqrt(12) each
    tape = KINDS["tape"]
    assert error.std() == pytest.approx(((5.0 * tape.spread) ** 2 + tape.step**2 / 6) ** 0.5, rel=0.1)

"""The study's short way gives the tables of the real pipeline."""

from pathlib import Path

import polars as pl
import pytest
from polars.testing import assert_frame_equal

from pipeline.demo import simulate
from pipeline.demo.simulate import Firm
from pipeline.graph import standard_graph
from tests.calibration.from_records import tables_from_records
from tests.calibration.in_memory import tables_in_memory
from tests.calibration.parts import PARTS


@pytest.fixture(scope="module")
def firm() -> Firm:
    """A small firm with everything that the records of a scenario can hold."""
    return simulate(
        doors=500, crews=6, seed=12, reread=0.5, copied=0.3, flat=0.3, heaped=1.0, rounds=True, late_paper=True,
        paper_days=20.0, leaves_out_failed=0.3, season=0.5, removed_a_year=0.05, callbacks_per_door=0.8,
    )  # fmt: skip


@pytest.fixture(scope="module")
def short(firm: Firm) -> dict[str, pl.DataFrame]:
    """Every table that the study asks for, and what they are made of, the short way."""
    graph = standard_graph()
    asked = {table for part in PARTS for table in part.tables}
    read = asked.union(*(graph.upstream(table) for table in asked))
    tables = tuple(name for name, model in graph.models.items() if name in read and not model.header.is_view)
    return tables_in_memory(firm, tables)


def test_every_table_of_the_study_is_that_of_the_real_pipeline(
    firm: Firm, short: dict[str, pl.DataFrame], tmp_path: Path
) -> None:
    real = tables_from_records(firm, tuple(short), tmp_path)
    assert len(short) > len({table for part in PARTS for table in part.tables})
    assert real["effects"]["hazard_ratio"].is_not_null().sum() >= 5
    for name in short:
        assert_frame_equal(short[name], real[name], check_row_order=False, rel_tol=1e-9, abs_tol=1e-12)


def test_effects_of_causes_do_not_need_those_of_variants(firm: Firm, short: dict[str, pl.DataFrame]) -> None:
    fewer = tables_in_memory(firm, ("effects", "weak_steps"), without_variants=True)
    causes = short["effects"].filter(pl.col("role") == "cause")
    assert causes.height < short["effects"].height
    assert_frame_equal(fewer["effects"], causes)
    assert_frame_equal(fewer["weak_steps"], short["weak_steps"])


def test_a_setting_reaches_the_tables(firm: Firm) -> None:
    def rates(**settings: object) -> pl.DataFrame:
        return tables_in_memory(firm, ("callback_rates",), **settings)["callback_rates"]

    assert rates(callbacks_from=firm.scenario.ends_on)["door_years"].sum() < 0.01 * rates()["door_years"].sum()

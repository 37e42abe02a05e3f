"""The benchmark's small form: the same numbers as the reference script and as general libraries, no clock.

Reference libraries: statsmodels (Poisson likelihood, generalised linear models, clustered covariance), scikit-learn and
glum (Poisson regression).
"""

from pathlib import Path

import numpy as np
import pytest

from pipeline.stats.blas import one_blas_thread
from tests.benchmarks import hazard_fits as fits
from tests.benchmarks.equal import largest_differences
from tests.benchmarks.made_firm import DEVIATIONS, FAULTS, READINGS_A_DOOR, write_firm
from tests.benchmarks.promises import SAME, SAME_CLUSTERED, Verdict, growth, table
from tests.benchmarks.reference_pandas import analyse
from tests.benchmarks.straight import numbers_straight_from_csv

DOORS = 1000


@pytest.fixture(scope="module")
def differences(tmp_path_factory: pytest.TempPathFactory) -> dict[str, float]:
    folder: Path = tmp_path_factory.mktemp("bench")
    assert write_firm(folder / "firm", DOORS) == DOORS * READINGS_A_DOOR
    numbers_straight_from_csv(folder / "firm", folder / "out")
    (folder / "reference").mkdir()
    with one_blas_thread():
        frames = analyse(folder / "firm")
    assert len(frames["effects"]) == len(DEVIATIONS) * len(FAULTS)
    for name, frame in frames.items():
        frame.to_parquet(folder / "reference" / f"{name}.parquet")
    return largest_differences(folder / "out" / "results.duckdb", folder / "reference")


def test_every_deviation_is_that_of_the_reference_script(differences: dict[str, float]) -> None:
    found = {name: value for name, value in differences.items() if name.startswith("deviations.")}
    assert len(found) == len(DEVIATIONS)
    assert {name: value for name, value in found.items() if not value <= SAME} == {}


def test_door_time_rates_and_effects_are_those_of_the_reference_script(differences: dict[str, float]) -> None:
    found = {name: value for name, value in differences.items() if not name.startswith("deviations.")}
    assert len(found) == 12
    assert {name: value for name, value in found.items() if not value <= SAME} == {}


@pytest.fixture(scope="module")
def problem() -> fits.Problem:
    return fits.make_problem(doors=3000, columns=8)


@pytest.mark.parametrize("name", fits.LIBRARIES)
def test_a_library_comes_to_the_same_coefficients(problem: fits.Problem, name: str) -> None:
    assert fits.fewest_steps(problem, fits.LIBRARIES[name]) < fits.MOST_STEPS


def test_clustered_errors_are_those_of_a_library(problem: fits.Problem) -> None:
    ratio = fits.project_clustered(problem) / fits.statsmodels_clustered(problem)
    assert np.abs(ratio - 1).max() <= SAME_CLUSTERED


def test_a_promise_that_is_not_kept_is_told() -> None:
    assert growth((1e6, 1.0), (1e7, 10.0)) == pytest.approx(1.0)
    lines = table([Verdict("slow", 3.0, 2.0, "x"), Verdict("nothing", float("nan"), 2.0, "x")]).splitlines()
    assert [line.split()[-1] for line in lines[1:]] == ["FAIL", "FAIL"]
    assert table([Verdict("fast", 3.0, 2.0, "x", at_most=False)]).endswith("pass")

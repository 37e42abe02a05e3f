"""Chain ladder beside a Poisson regression of another library; its unit does not matter, and what develops alike.

Source: Renshaw and Verrall (1998), Brit. Actuar. J. 4, 903-923: the same reserves as a Poisson regression of the
increments on cohort and age (from memory).
"""

import numpy as np
import pytest
import statsmodels.api as sm

from pipeline.stats.chain_ladder import chain_ladder


def made(seed: int, n: int = 6) -> np.ndarray:
    """Cumulated values of n cohorts, the later the fewer ages seen."""
    rng = np.random.default_rng(seed)
    mean = rng.uniform(50, 200, n)[:, None] * np.array([5.0, 3.0, 2.0, 1.0, 0.5, 0.2])[:n]
    whole = np.cumsum(rng.gamma(mean), axis=1)
    return np.where(np.add.outer(np.arange(n), np.arange(n)) < n, whole, np.nan)


@pytest.mark.parametrize("seed", [1, 2])
def test_what_is_to_come_is_that_of_a_poisson_regression_of_the_increments(seed):
    triangle = made(seed)
    n = len(triangle)
    increments = np.diff(triangle, axis=1, prepend=0.0).ravel()
    cohort, age = (index.ravel() for index in np.indices((n, n)))
    design = np.column_stack([cohort[:, None] == np.arange(n), age[:, None] == np.arange(1, n)]).astype(float)
    seen = np.isfinite(increments)
    law = sm.GLM(increments[seen], design[seen], family=sm.families.Poisson()).fit(tol=1e-12)
    ahead = np.bincount(cohort[~seen], law.predict(design[~seen]), n)
    assert chain_ladder(triangle).to_come == pytest.approx(ahead, rel=1e-6)


def test_another_unit_changes_nothing_but_the_unit():
    triangle = made(3)
    own, other = chain_ladder(triangle), chain_ladder(1000 * triangle)
    assert other.factors == pytest.approx(own.factors)
    assert other.to_come == pytest.approx(1000 * own.to_come)
    assert other.errors == pytest.approx(1000 * own.errors)
    assert other.error == pytest.approx(1000 * own.error)


def test_cohorts_that_all_develop_alike_leave_no_error():
    alike = np.outer([100.0, 200.0, 50.0, 80.0], [1.0, 1.5, 1.8, 1.9])
    found = chain_ladder(np.where(np.add.outer(np.arange(4), np.arange(4)) < 4, alike, np.nan))
    assert found.target == pytest.approx(alike[:, -1])
    assert found.error == pytest.approx(0.0, abs=1e-6)

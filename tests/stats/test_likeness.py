"""What is drawn for what is missing: against a regression, a known law, and what must hold of any draw."""

import numpy as np
import pytest
from sklearn.linear_model import LinearRegression

from pipeline.stats.likeness import HELD, Foretold, Likeness, drawn_rows

ROWS = 4000


@pytest.fixture(scope="module")
def alike() -> tuple[np.ndarray, np.ndarray]:
    """Two variables with correlation 0.8, a third by itself; the first missing on a third of the rows."""
    rng = np.random.default_rng(1)
    full = rng.standard_normal((ROWS, 3))
    full[:, 1] = 0.8 * full[:, 0] + 0.6 * full[:, 1]
    seen = full.copy()
    seen[rng.random(ROWS) < 1 / 3, 0] = np.nan
    return full, seen


def test_a_missing_value_is_foretold_as_by_regression_on_scores(alike: tuple[np.ndarray, np.ndarray]) -> None:
    _, seen = alike
    groups = np.zeros(ROWS, dtype=np.int64)
    likeness = Likeness(seen, groups, 1)
    found = likeness.foretell(seen, groups, 0)
    scores = likeness.scores_of(seen[:, :2], [0, 1])
    has = np.isfinite(scores[:, 0])
    other = LinearRegression().fit(scores[has, 1:], scores[has, 0])
    slope = float(np.polyfit(scores[:, 1], found.means, 1)[0])
    assert slope == pytest.approx(float(other.coef_[0]), abs=HELD)
    assert found.variances[0] == pytest.approx(0.36, abs=0.04)


def test_draws_keep_how_variables_go_together(alike: tuple[np.ndarray, np.ndarray]) -> None:
    full, seen = alike
    groups = np.zeros(ROWS, dtype=np.int64)
    found = Likeness(seen, groups, 1).foretell(seen, groups, 0)
    missing, having = np.flatnonzero(np.isnan(seen[:, 0])), np.flatnonzero(np.isfinite(seen[:, 0]))
    drawn = seen[drawn_rows(found, missing, having, 3, np.random.default_rng(2)), 0]
    for one in drawn:
        assert np.corrcoef(one, full[missing, 1])[0, 1] == pytest.approx(0.8, abs=0.05)
    assert drawn.mean() == pytest.approx(0, abs=0.05)
    assert drawn.std() == pytest.approx(1, abs=0.06)


def test_a_group_that_is_worse_than_others_is_foretold_to_be() -> None:
    rng = np.random.default_rng(3)
    groups = np.repeat([0, 1], 1000)
    values = (rng.standard_normal(2000) + 2.0 * groups)[:, None]
    found = Likeness(values, groups, 2).foretell(np.full((2, 1), np.nan), np.array([0, 1]), 0)
    assert found.means[1] - found.means[0] > 1
    assert found.variances[0] < 0.7


def test_where_nothing_is_known_every_row_is_drawn_as_often() -> None:
    rows = 50
    nothing = Foretold(np.random.default_rng(4).standard_normal(rows), np.zeros(rows), np.ones(rows))
    having = np.arange(10, 20)
    drawn = drawn_rows(nothing, np.arange(10), having, 2000, np.random.default_rng(5))
    assert drawn.shape == (2000, 10)
    assert set(drawn.ravel()) == set(having)
    assert np.bincount(drawn.ravel(), minlength=20)[10:] / drawn.size == pytest.approx(np.full(10, 0.1), abs=0.01)


def test_variables_that_are_never_recorded_or_the_same_everywhere_foretell_nothing() -> None:
    values = np.column_stack([np.full(200, np.nan), np.zeros(200), np.arange(200.0)])
    groups = np.zeros(200, dtype=np.int64)
    likeness = Likeness(values, groups, 1)
    for column in range(3):
        found = likeness.foretell(values, groups, column)
        assert np.isfinite(found.means).all()
        assert (found.variances > 0).all()

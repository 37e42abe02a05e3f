"""Least squares within groups: another library's slopes and errors, and what differs between groups is left out."""

import numpy as np
import pytest
import statsmodels.api as sm

from pipeline.stats.partial_slopes import partial_slopes


def made(seed: int = 3, n: int = 300, groups: int = 6):
    rng = np.random.default_rng(seed)
    group = np.repeat(np.arange(groups), n // groups)
    others = rng.normal(size=(n, 3)) * [1.0, 20.0, 0.1] + rng.normal(size=groups)[group, None]
    outcome = others @ [0.5, 0.0, 3.0] + rng.normal(size=groups)[group] + rng.normal(size=n)
    return outcome, others, group


def test_slopes_and_errors_are_those_of_statsmodels_with_a_column_for_each_group():
    outcome, others, group = made()
    found = partial_slopes(outcome, others, group)
    law = sm.OLS(outcome, np.column_stack([others, group[:, None] == np.arange(6)])).fit()
    assert found.slopes == pytest.approx(law.params[:3], rel=1e-4)
    assert found.errors == pytest.approx(law.bse[:3], rel=1e-4)
    assert found.explained == pytest.approx(law.tvalues[:3] ** 2 / (law.tvalues[:3] ** 2 + law.df_resid), rel=1e-4)


def test_what_groups_differ_by_changes_nothing():
    outcome, others, group = made()
    moved = partial_slopes(outcome + 7.0 * group, others + group[:, None], group)
    assert moved.slopes == pytest.approx(partial_slopes(outcome, others, group).slopes)


def test_columns_that_repeat_or_never_vary_and_too_few_rows():
    outcome, others, group = made()
    twice = partial_slopes(outcome, np.column_stack([others[:, 0], others[:, 0], group, np.ones(300)]), group)
    assert twice.slopes[0] == pytest.approx(twice.slopes[1])
    assert (twice.slopes[2:] == 0).all()
    assert (twice.explained[2:] == 0).all()
    assert partial_slopes(outcome[:4], others[:4], np.array([0, 1, 1, 1])) is None

"""Widths of priors learned from fits: simulated truth, the maximum of the marginal likelihood, and nothing to learn."""

import numpy as np
import pytest

from pipeline.stats.group_spread import marginal_log_likelihood
from pipeline.stats.hazards import HazardData, Prior, fit_hazard
from pipeline.stats.prior_spreads import LEAST_SPREAD, Spreads, learned_spreads

USUAL = Spreads(np.array([0.2, 0.2]), 0.25)
KINDS = np.repeat([0, 1], [10, 30])


def simulated(rng: np.random.Generator, spreads: tuple[float, float, float], n: int = 3000) -> HazardData:
    """Doors of 20 groups with 10 coefficients of one kind and 30 of another."""
    groups = np.sort(rng.integers(0, 20, n))
    design = rng.normal(size=(n, 40))
    beta = rng.normal(size=40) * np.array(spreads)[KINDS]
    level = rng.normal(size=20)[groups] * spreads[2]
    time = rng.uniform(0.5, 1.5, (n, 1))
    return HazardData(design, time, rng.poisson(time[:, 0] * 0.08 * np.exp(design @ beta + level))[:, None], groups)


def test_finds_the_widths_that_many_faults_share():
    rng = np.random.default_rng(5)
    models = [(simulated(rng, (0.35, 0.06, 0.3)), KINDS) for _ in range(8)]
    found, fits = learned_spreads(models, USUAL)
    assert found.kinds == pytest.approx([0.35, 0.06], abs=0.06)
    assert found.groups == pytest.approx(0.3, abs=0.08)
    assert len(fits) == 8


def test_without_usual_widths_it_goes_to_the_maximum_of_the_marginal_likelihood():
    """MacKay (1992): the fixed point of the step is where the evidence is highest (Laplace's approximation)."""
    model = simulated(np.random.default_rng(8), (0.3, 0.3, 0.0), n=6000)
    one_kind = np.zeros(40, np.int64)
    spreads = Spreads(np.array([0.3]), 0.1)
    for _ in range(5):
        found, _ = learned_spreads([(model, one_kind)], Spreads(spreads.kinds, 0.1), weight=0.0)
        spreads = Spreads(found.kinds, 0.1)

    def evidence(sd: float) -> float:
        precision = np.full(40, sd**-2)
        fit = fit_hazard(model, Prior(precision, 0.1**-2))
        return marginal_log_likelihood(fit, precision, 0.1) - 40 * np.log(sd)

    best = max(np.linspace(0.2, 0.45, 51), key=evidence)
    assert spreads.kinds[0] == pytest.approx(best, abs=0.01)


def test_no_model_leaves_the_usual_widths():
    found, fits = learned_spreads([], USUAL)
    assert found.kinds == pytest.approx(USUAL.kinds)
    assert found.groups == pytest.approx(USUAL.groups)
    assert fits == []


def test_a_kind_that_matters_nowhere_is_held_tighter_but_never_to_nothing():
    rng = np.random.default_rng(9)
    models = [(simulated(rng, (0.3, 0.0, 0.0), n=8000), KINDS) for _ in range(6)]
    found, _ = learned_spreads(models, USUAL)
    assert LEAST_SPREAD <= found.kinds[1] < USUAL.kinds[1] / 2
    assert LEAST_SPREAD <= found.groups < USUAL.groups / 1.5


def test_two_groups_cannot_show_how_groups_differ():
    model = simulated(np.random.default_rng(2), (0.3, 0.1, 0.0))
    two = HazardData(model.design, model.time, model.events, np.sort(model.groups % 2))
    found, _ = learned_spreads([(two, KINDS)], USUAL)
    assert found.groups == pytest.approx(USUAL.groups)

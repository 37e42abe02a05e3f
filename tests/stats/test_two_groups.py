"""Effects of which some are nothing: against direct maximisation, a known family, and what must hold of any."""

import numpy as np
import pytest
from scipy import optimize, stats

from pipeline.stats.two_groups import NOTHING, USUAL_SPREAD, TwoGroups, two_groups


def drawn(seed: int, n: int = 60) -> tuple[np.ndarray, np.ndarray]:
    """Estimates and errors of n effects: half are nothing, the others about 1.2 with spread 0.3."""
    rng = np.random.default_rng(seed)
    errors = rng.uniform(0.1, 0.4, n)
    true = np.where(rng.random(n) < 0.5, 0.0, rng.normal(1.2, 0.3, n))
    return rng.normal(true, errors), errors


def test_em_ends_where_the_penalised_likelihood_is_greatest() -> None:
    estimates, errors = drawn(1)

    def loss(at: np.ndarray) -> float:
        nothing, mean, spread = 1 / (1 + np.exp(-at[0])), at[1], np.exp(at[2])
        mixed = nothing * stats.norm.pdf(estimates, 0, np.hypot(errors, NOTHING))
        mixed += (1 - nothing) * stats.norm.pdf(estimates, mean, np.hypot(errors, spread))
        prior = np.log(nothing * (1 - nothing)) - mean**2 / 2 - np.log(spread) - USUAL_SPREAD**2 / (2 * spread**2)
        return -float(np.log(mixed).sum() + prior)

    best = optimize.minimize(loss, [0.0, 1.0, -1.0], method="Nelder-Mead", options={"xatol": 1e-6, "fatol": 1e-9}).x
    found = two_groups(estimates, errors)
    expected = (1 / (1 + np.exp(-best[0])), best[1], np.exp(best[2]))
    assert (found.nothing, found.mean, found.spread) == pytest.approx(expected, abs=2e-3)


def test_a_known_family_is_found_again() -> None:
    found = [two_groups(*drawn(seed, 200)) for seed in range(8)]
    assert np.mean([family.nothing for family in found]) == pytest.approx(0.5, abs=0.05)
    assert np.mean([family.mean for family in found]) == pytest.approx(1.2, abs=0.06)
    assert np.mean([family.spread for family in found]) == pytest.approx(0.3, abs=0.06)


def test_where_all_are_nothing_little_is_expected_of_another() -> None:
    rng = np.random.default_rng(2)
    errors = rng.uniform(0.1, 0.4, 60)
    belief = two_groups(rng.normal(0, errors), errors).unseen()
    assert belief.chance * abs(belief.mean) < 0.08


def test_without_any_effect_nothing_is_expected() -> None:
    assert two_groups([], []).unseen().mean == pytest.approx(0, abs=1e-6)


def test_an_effect_known_well_is_its_estimate_and_one_not_known_is_its_family() -> None:
    family = TwoGroups(0.5, 1.2, 0.3)
    well, badly, small = family.seen(0.9, 1e-3), family.seen(0.9, 1e3), family.seen(0.0, 0.1)
    assert (well.chance, well.mean, well.spread) == pytest.approx((1, 0.9, 1e-3), rel=1e-3)
    assert (badly.chance, badly.mean, badly.spread) == pytest.approx((0.5, 1.2, 0.3), rel=1e-3)
    assert small.chance < 0.01


def test_a_belief_is_the_mixture_seen_through_the_estimate_worked_out_by_numbers() -> None:
    x = np.linspace(-2, 4, 200_001)
    seen = stats.norm.pdf(0.7, x, 0.25)
    nothing, something = 0.4 * stats.norm.pdf(x, 0, NOTHING) * seen, 0.6 * stats.norm.pdf(x, 1.2, 0.3) * seen
    mean = (x * something).sum() / something.sum()
    spread = np.sqrt(((x - mean) ** 2 * something).sum() / something.sum())
    found = TwoGroups(0.4, 1.2, 0.3).seen(0.7, 0.25)
    assert found.chance == pytest.approx(something.sum() / (nothing + something).sum(), abs=1e-6)
    assert (found.mean, found.spread) == pytest.approx((mean, spread), abs=1e-4)

"""Whether an effect is the same in every part: against statsmodels, against the whole fit, and on simulated truth."""

import numpy as np
import pytest
import statsmodels.api as sm
from statsmodels.stats.meta_analysis import combine_effects

from pipeline.stats.hazards import HazardData, HazardFit, Prior, fit_hazard
from pipeline.stats.part_effects import Parts, differences_p, part_effects, parts_of, spread_between

LEVELS = [0.6, 0.3, 0.1]
PRECISION = np.array([0.0, 8.0, 1.0, 1.0, 1.0])
PRIOR = Prior(PRECISION, 0.3**-2, np.array([2.5, 0, 0, 0, 0]))
CUTS = np.array([0.0, 0.5, 1.2, 4.0])


def firm(
    seed: int, groups: int = 20, events: int = 100, differ: float = 0.0, tilt: float = 0.0, is_check: bool = False
) -> tuple[HazardData, HazardFit, np.ndarray]:
    """3,000 doors of some crews and three levels, a lopsided deviation with log ratio 0.5, fitted as pairs are.

    differ  sd between crews of the log ratio; tilt: how much larger it is at the last level but one
    """
    rng, n = np.random.default_rng([seed, groups]), 3000
    group = np.sort(rng.integers(0, groups, n))
    x = (rng.random(n) < 0.12).astype(float) if is_check else rng.exponential(size=n)
    x = (x - x.mean()) / x.std()
    level = rng.choice(3, n, p=LEVELS)
    others = np.column_stack([rng.normal(size=n) + 0.4 * x, np.eye(3)[level]])
    slope = 0.5 + differ * rng.normal(size=groups)[group] + tilt * (level == 1)
    risk = np.exp(slope * x + others @ [0.3, 0.0, 0.3, -0.3] + 0.3 * rng.normal(size=groups)[group])
    leave = rng.uniform(0.3, 3, n)
    risk *= events / (risk * leave).sum()
    age = rng.exponential(1 / risk)
    is_event, until = age < leave, np.minimum(age, leave)
    time = np.clip(until[:, None] - CUTS[:-1], 0, np.diff(CUTS))
    seen = np.zeros_like(time)
    seen[np.flatnonzero(is_event), np.searchsorted(CUTS, until[is_event]) - 1] = 1
    data = HazardData(np.column_stack([x, others]), time, seen, group)
    return data, fit_hazard(data, PRIOR), level


def p_values(of: int, by: str, **kind: object) -> np.ndarray:
    """p-values of `of` simulated firms."""
    found = []
    for seed in range(of):
        data, fit, level = firm(seed, **kind)  # type: ignore[arg-type]
        if by == "crew":
            found.append(spread_between(parts_of(data, fit, 0, data.groups)).p_value)
        else:
            found.append(differences_p(parts_of(data, fit, 0, level), np.arange(3)))
    return np.array(found)


def test_the_statistic_of_levels_is_the_score_test_of_statsmodels() -> None:
    """Without crews and priors: GLMResults.score_test of the interactions in the same Poisson regression."""
    data, _, level = firm(3, events=300, tilt=0.3)
    time, events = data.time.sum(axis=1, keepdims=True), data.events.sum(axis=1, keepdims=True)
    design = data.design[:, [0, 1, 3, 4]]
    plain = HazardData(design, time, events, np.zeros(len(design), dtype=np.int64))
    fit = fit_hazard(plain, Prior(np.zeros(4)))
    seen = parts_of(plain, fit, 0, level)
    loose = np.linalg.pinv(seen.covariance, rcond=1e-6, hermitian=True)
    known = sm.GLM(events[:, 0], sm.add_constant(design), sm.families.Poisson(), offset=np.log(time[:, 0])).fit()
    extra = design[:, [0]] * np.eye(3)[level][:, 1:]
    expected, *_ = known.score_test(exog_extra=extra)
    assert seen.scores @ loose @ seen.scores == pytest.approx(float(np.squeeze(expected)), rel=1e-3)


def test_the_spread_of_parts_alike_in_size_is_that_of_dersimonian_and_laird() -> None:
    """Held against statsmodels combine_effects (method chi2), parts with the same information each."""
    effects = np.array([0.1, 0.9, -0.4, 0.6, 0.3, -0.2])
    information, n = 25.0, 6
    seen = Parts(
        scores=information * (effects - effects.mean()),
        covariance=information * (np.eye(n) - np.full((n, n), 1 / n)),
        cumulants=np.full((n, 3), 1e-9),
        information=np.full(n, information),
    )
    known = combine_effects(effects, np.full(n, 1 / information), method_re="chi2")
    assert spread_between(seen).sd ** 2 == pytest.approx(known.tau2, rel=1e-9)
    # a gamma law is the chi-square itself where nothing but the variance speaks
    assert spread_between(seen).p_value == pytest.approx(float(known.test_homogeneity().pvalue), rel=1e-6)


def test_effects_of_parts_are_those_of_a_fit_with_a_column_a_part() -> None:
    data, fit, level = firm(5, events=300, tilt=0.3)
    prior = Prior(PRECISION, 0.3**-2)
    own, errors = part_effects((data, prior, fit), 0, level, sd=1e3)
    columns = data.design[:, [0]] * np.eye(3)[level]
    whole = HazardData(np.column_stack([columns, data.design[:, 1:]]), data.time, data.events, data.groups)
    expected = fit_hazard(whole, Prior(np.concatenate([[0.0, 0.0], PRECISION]), 0.3**-2))
    assert own == pytest.approx(expected.beta[:3], abs=1e-3)
    assert errors == pytest.approx(np.sqrt(np.diag(expected.beta_covariance)[:3]), rel=1e-3)


def test_a_tight_prior_draws_the_parts_together() -> None:
    data, fit, _ = firm(8, events=400, differ=0.4)
    loose, loose_errors = part_effects((data, PRIOR, fit), 0, data.groups, sd=1.0)
    tight, tight_errors = part_effects((data, PRIOR, fit), 0, data.groups, sd=0.1)
    assert np.ptp(tight) < 0.5 * np.ptp(loose)
    assert np.all(tight_errors < loose_errors)


@pytest.mark.parametrize(
    ("by", "kind"),
    [
        ("crew", {}),
        ("crew", {"groups": 6}),
        ("crew", {"groups": 40}),
        ("crew", {"is_check": True, "events": 60}),
        ("level", {}),
        ("level", {"is_check": True, "events": 60}),
    ],
)
def test_one_question_in_twenty_is_answered_wrongly_where_nothing_differs(by: str, kind: dict[str, object]) -> None:
    p = p_values(400, by, **kind)
    # of 400 at 5 %: 20, standard deviation 4.4
    assert (p <= 0.05).mean() <= 0.085
    assert (p <= 0.01).mean() <= 0.025
    assert (p <= 0.2).mean() == pytest.approx(0.2, abs=0.08)


def test_crews_that_differ_and_levels_that_differ_are_found() -> None:
    assert (p_values(100, "crew", differ=0.5, events=200) <= 0.05).mean() >= 0.6
    assert (p_values(100, "level", tilt=0.6, events=200) <= 0.05).mean() >= 0.6


def test_the_upper_limit_of_the_spread_holds_the_truth() -> None:
    limits = []
    for seed in range(150):
        data, fit, _ = firm(seed, differ=0.3, events=200)
        limits.append(spread_between(parts_of(data, fit, 0, data.groups)).sd_high)
    assert np.mean(np.array(limits) >= 0.3) >= 0.9


def test_a_part_in_which_nothing_varies_tells_nothing_and_breaks_nothing() -> None:
    data, _, _ = firm(1)
    parts = (data.design[:, 0] > 1.0).astype(np.int64) + 1
    parts[:5] = 0
    flat = HazardData(np.where(parts[:, None] == 0, 0.0, data.design), data.time, data.events, data.groups)
    seen = parts_of(flat, fit_hazard(flat, PRIOR), 0, parts)
    assert seen.information[0] == pytest.approx(0.0, abs=1e-12)
    assert 0 <= differences_p(seen, np.array([1, 2])) <= 1
    assert 0 <= spread_between(seen).p_value <= 1

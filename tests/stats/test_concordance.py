"""Concordance: by hand, against lifelines, under late entry and censoring, and its error by drawing anew."""

import numpy as np
import pytest
from lifelines import KaplanMeierFitter
from lifelines.utils import concordance_index

from pipeline.stats.concordance import MOST_EVENTS, Followed, concordance


def followed(scores, entry, leave, events, **parts):
    n = len(leave)
    given = {"weights": np.ones(n), "units": np.arange(n), "groups": np.arange(n), **parts}
    scores = np.asarray(scores, dtype=float).reshape(n, -1)
    return Followed(scores, *(np.asarray(x, dtype=float) for x in (entry, leave, events)), **given)


def world(rng, n, censored_at=2.0, late=0.0, effect=1.0):
    """Rows with hazard exp(effect x score), censored at random, some entering late."""
    score = rng.normal(size=n)
    age = rng.exponential(np.exp(-effect * score))
    entry, end = rng.uniform(0, late, n), rng.uniform(0, censored_at, n)
    keep = (age > entry) & (end > entry)
    return followed(score[keep], entry[keep], np.minimum(age, end)[keep], (age <= end)[keep])


def test_by_hand():
    # at age 1 the first row has its event against three others, one of them foretold higher; at age 2 the second
    # against two, both lower, one of which left its watch at that very age; the fourth enters after both
    kind = followed([2, 1, 3, 0, 0], [0, 0, 0, 0, 2.5], [1, 2, 3, 2, 4], [1, 1, 0, 0, 0])
    found = concordance([kind], is_weighed=False)
    assert found.estimate == pytest.approx([(2 + 1) / (3 + 2)])
    assert found.events == 2


def test_ties_of_the_score_count_half_and_the_other_way_round_is_the_rest():
    rng = np.random.default_rng(1)
    kind = world(rng, 300)
    rough = np.round(kind.scores[:, 0])
    kind = followed(np.column_stack([rough, -rough, np.zeros(len(rough))]), kind.entry, kind.leave, kind.events)
    estimate = concordance([kind]).estimate
    assert estimate[0] + estimate[1] == pytest.approx(1)
    assert estimate[2] == pytest.approx(0.5)


def test_equal_weights_are_harrells_as_lifelines_has_it():
    kind = world(np.random.default_rng(2), 500)
    reference = concordance_index(kind.leave, -kind.scores[:, 0], kind.events)
    assert concordance([kind], is_weighed=False).estimate[0] == pytest.approx(reference, abs=1e-12)


def test_weights_under_censoring_alone_are_unos_with_the_censoring_of_lifelines():
    kind = world(np.random.default_rng(3), 400, censored_at=1.2)
    stays = KaplanMeierFitter().fit(kind.leave, 1 - kind.events)
    rows = np.flatnonzero(kind.events)
    last = np.quantile(kind.leave, 0.9)
    right = pairs = 0.0
    for row in rows[kind.leave[rows] <= last]:
        weight = float(stays.survival_function_at_times(kind.leave[row] - 1e-9).iloc[0]) ** -2
        others = kind.leave > kind.leave[row]
        right += weight * (kind.scores[others, 0] < kind.scores[row, 0]).sum()
        pairs += weight * others.sum()
    # up to an age at which a tenth is still watched, so that none of it is left out for being watched by few
    cut = kind.leave <= last
    until = followed(kind.scores, kind.entry, np.minimum(kind.leave, last), kind.events * cut)
    assert concordance([until]).estimate[0] == pytest.approx(right / pairs, abs=1e-9)


def test_who_is_watched_when_does_not_decide():
    # the effect fades with age, so that concordance depends on which ages count
    def fading(rng, n, censored_at, late):
        score = rng.normal(size=n)
        early, afterwards = rng.exponential(np.exp(-2.0 * score)), 0.5 + rng.exponential(1.0, n)
        age = np.where(early < 0.5, early, afterwards)
        entry, end = rng.uniform(0, late, n), np.minimum(rng.uniform(0, censored_at, n), 1.5)
        keep = (age > entry) & (end > entry)
        return followed(score[keep], entry[keep], np.minimum(age, end)[keep], (age <= end)[keep])

    rng = np.random.default_rng(4)
    whole = concordance([fading(rng, 10_000, 1e6, 1e-9)])
    patchy = [fading(rng, 10_000, 2.0, 1e-9), fading(rng, 20_000, 1e6, 1.4)]
    for kind in patchy:
        plain = concordance([kind], is_weighed=False).estimate[0]
        weighed = concordance([kind])
        assert abs(weighed.estimate[0] - whole.estimate[0]) < 4 * weighed.error([1])
        assert abs(weighed.estimate[0] - whole.estimate[0]) < 0.5 * abs(plain - whole.estimate[0])


@pytest.mark.parametrize("clustered", [False, True])
def test_the_error_is_that_of_firms_drawn_anew(clustered):
    rng = np.random.default_rng(5)
    estimates, errors = [], []
    for _ in range(120):
        kind = world(rng, 150, late=0.3)
        n = len(kind.leave)
        groups = np.arange(n) % 20
        if clustered:
            twice = [np.repeat(part, 2, axis=0) for part in (kind.scores, kind.entry, kind.leave, kind.events)]
            kind = followed(*twice, groups=np.repeat(np.arange(n), 2))
        else:
            kind = followed(kind.scores, kind.entry, kind.leave, kind.events, groups=groups)
        found = concordance([kind])
        estimates.append(found.estimate[0])
        errors.append(found.error([1]))
    ratio = np.mean(errors) / np.std(estimates)
    # rows that stand twice: the house's mean of both variances lies between that of rows and that of groups
    assert (0.82 < ratio < 1.05) if clustered else (0.88 < ratio < 1.2)


def test_a_difference_is_surer_than_its_parts():
    kind = world(np.random.default_rng(6), 2000)
    noise = kind.scores[:, 0] + 0.3 * np.random.default_rng(7).normal(size=len(kind.leave))
    kind = followed(np.column_stack([kind.scores[:, 0], noise]), kind.entry, kind.leave, kind.events)
    found = concordance([kind])
    assert found.estimate[0] > found.estimate[1]
    assert found.error([-1, 1]) < 0.5 * found.error([1, 0])


def test_a_row_that_stands_for_many_counts_as_many():
    kind = world(np.random.default_rng(8), 400)
    others = np.flatnonzero(kind.events == 0)
    doubled = np.concatenate([np.arange(len(kind.leave)), others])
    parts = [part[doubled] for part in (kind.scores, kind.entry, kind.leave, kind.events)]
    weights = np.where(kind.events == 0, 2.0, 1.0)
    weighed = followed(kind.scores, kind.entry, kind.leave, kind.events, weights=weights)
    assert concordance([weighed]).estimate == pytest.approx(concordance([followed(*parts)]).estimate)


def test_many_events_are_drawn_from():
    kind = world(np.random.default_rng(9), 8000)
    assert kind.events.sum() > 1.5 * MOST_EVENTS
    found = concordance([kind])
    assert found.events <= MOST_EVENTS
    assert concordance([kind]).estimate == found.estimate
    assert found.error([1]) < 0.01


def test_kinds_are_compared_within_themselves():
    rng = np.random.default_rng(10)
    one, other = world(rng, 400), world(rng, 400, effect=-1.0)
    shifted = followed(other.scores + 100, other.entry, other.leave, other.events)
    apart = [concordance([kind], is_weighed=False).estimate[0] for kind in (one, shifted)]
    shares = np.array([one.events.sum(), other.events.sum()])
    together = concordance([one, shifted], is_weighed=False).estimate[0]
    assert together == pytest.approx(apart @ shares / shares.sum(), abs=0.003)


def test_nothing_to_compare_is_none():
    assert concordance([]) is None
    assert concordance([followed([1, 2], [0, 0], [1, 1], [0, 0])]) is None
    assert concordance([followed([1.0], [0], [1], [1])]) is None

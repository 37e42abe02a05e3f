"""Limit advice: humble words, both directions, several limits, and what a limit costs."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from pipeline.catalogue import catalogue_tables, load_catalogue
from pipeline.model.adjusters import Place, places
from pipeline.model.limit_cost import cheapest_limit, rework_cost
from pipeline.model.limit_place import (
    UsualLimit,
    low_and_high,
    risk_place,
    share_beyond,
    towards_worse,
    usual_limit,
)
from pipeline.model.limit_verdict import verdict
from pipeline.stats.curves import Crossing

PLACES = places(catalogue_tables(load_catalogue())["catalogue_deviations"])
HIGHER, LOWER = PLACES["sill_level_error"], PLACES["seal_compression_low"]
STRONG = {"evidence": "strong", "note": ""}


def limit(value: float | None, low: float | None = None, high: float | None = None) -> UsualLimit:
    if value is None:
        return UsualLimit(None, None, 0, np.nan, np.nan)
    return UsualLimit(value, 1.0, 1, value if low is None else low, value if high is None else high)


def said(
    found: Crossing | None, usual: UsualLimit, place: Place = HIGHER, reference: float = 0.5,
    against: frozenset[str] = frozenset(), **effect: Any,
) -> str:  # fmt: skip
    fitted = None if found is None else ({"reference": reference}, found)
    return verdict(STRONG | effect, fitted, usual, place, set(against))[0]


@pytest.mark.parametrize(
    ("found", "now", "expected"),
    [
        (Crossing(1.0, 1.5, 2.0), 3.0, "tighten"),
        (Crossing(1.0, 1.5, 3.5), 3.0, "keep"),
        (Crossing(1.0, 1.5, None), 3.0, "keep"),
        (Crossing(3.5, 4.0, 5.0), 3.0, "loosen"),
        (Crossing(3.5, 4.0, None), 3.0, "loosen"),
        (Crossing(3.0, 4.0, None), 3.0, "keep"),
        (Crossing(3.5, None, None), 3.0, "loosen"),
        (Crossing(None, None, None), 3.0, "keep"),
        (Crossing(1.0, 1.5, 2.0), None, "keep"),
        (Crossing(3.5, 4.0, 5.0), 0.5, "keep"),
        (Crossing(3.5, 4.0, 5.0), 0.0, "keep"),
        (None, 3.0, "keep"),
    ],
)
def test_only_an_interval_wholly_on_one_side_moves_a_limit(found, now, expected) -> None:
    assert said(found, limit(now)) == expected
    # the same where lower is worse: everything mirrored
    turned = (
        None
        if found is None
        else Crossing(*(None if at is None else -at for at in (found.soonest, found.best, found.latest)))
    )
    assert said(turned, limit(None if now is None else -now), LOWER, -0.5) == expected


@pytest.mark.parametrize("evidence", ["suggestive", "none"])
def test_a_hint_moves_no_limit(evidence: str) -> None:
    assert said(Crossing(1.0, 1.5, 2.0), limit(3.0), evidence=evidence) == "keep"
    assert said(Crossing(3.5, 4.0, 5.0), limit(3.0), evidence=evidence) == "keep"


def test_too_few_says_why() -> None:
    effect = {"evidence": "too_few", "note": "8 first callbacks; at least 10 are needed"}
    assert verdict(effect, None, limit(3.0), HIGHER, set()) == ("too_few", effect["note"])


def test_another_fault_stops_loosening_but_not_tightening() -> None:
    assert said(Crossing(3.5, 4.0, 5.0), limit(3.0), against=frozenset({"draught"})) == "keep"
    assert said(Crossing(1.0, 1.5, 2.0), limit(3.0), against=frozenset({"draught"})) == "tighten"


def test_of_several_limits_all_but_the_outer_tenths_must_agree() -> None:
    assert said(Crossing(1.0, 1.5, 2.6), limit(3.0, 2.4, 3.0)) == "keep"
    assert said(Crossing(1.0, 1.5, 2.3), limit(3.0, 2.4, 3.0)) == "tighten"
    assert said(Crossing(3.2, 4.0, 5.0), limit(3.0, 2.4, 3.5)) == "keep"


def test_the_usual_limit_is_the_most_frequent_else_the_median_else_none() -> None:
    shared = usual_limit(np.array([3.0, 3.0, 2.4, 2.1, np.nan]))
    assert (shared.value, shared.share, shared.n_limits) == (3.0, 0.4, 3)
    scattered = usual_limit(np.linspace(2.0, 3.0, 101))
    assert (scattered.value, scattered.n_limits) == (2.5, 101)
    assert (scattered.low, scattered.high) == pytest.approx((2.1, 2.9))
    assert usual_limit(np.array([np.nan, np.nan, 3.0])).value is None
    assert usual_limit(np.array([])).value is None


def fit_row(slope: float, error: float, lower: bool = False) -> dict[str, Any]:
    """A straight curve on 0, 0.5, … 5 (or its mirror image), ten doors and half a callback at each value."""
    grid = np.arange(-5, 0.25, 0.5) if lower else np.arange(0, 5.25, 0.5)
    reference = float(grid[-1] if lower else grid[0])
    far = np.abs(grid - reference)
    return {
        "grid": grid.tolist(), "reference": reference, "contrasts": far.tolist(), "coefficients": [slope],
        "covariance": [error**2], "crew_covariance": [], "doors_with_ends": [10.0] * 11,
        "callbacks": (0.05 * 10 * np.exp(slope * far)).tolist(),
    }  # fmt: skip


def test_the_value_with_one_and_a_half_times_the_risk_lies_where_the_line_says_in_both_directions() -> None:
    up, down = risk_place(fit_row(0.4, 0.05), HIGHER), risk_place(fit_row(0.4, 0.05, lower=True), LOWER)
    assert up.best == pytest.approx(np.log(1.5) / 0.4)
    assert down.best == pytest.approx(-np.log(1.5) / 0.4)
    low, high = low_and_high(up, HIGHER)
    assert low is not None
    assert high is not None
    assert low_and_high(down, LOWER) == pytest.approx((-high, -low))
    assert low < np.log(1.5) / 0.4 < high


def test_doors_beyond_a_value_are_counted_on_the_worse_side() -> None:
    row = fit_row(0.4, 0.05)
    assert share_beyond(row, 4.2, HIGHER) == pytest.approx(2 / 11)
    assert share_beyond(row, 4.2, LOWER) == pytest.approx(9 / 11)
    assert share_beyond(row, None, HIGHER) is None


def test_only_the_side_that_is_worse_is_searched() -> None:
    row = fit_row(0.4, 0.05) | {"reference": 1.0}
    assert towards_worse(row, HIGHER).tolist() == list(range(2, 11))
    assert towards_worse(row, LOWER).tolist() == [2, 1, 0]


@pytest.mark.parametrize("lower", [False, True])
def test_the_cheapest_limit_goes_from_everything_to_nothing_as_rework_gets_dear(lower: bool) -> None:
    place = LOWER if lower else HIGHER
    row, rng = fit_row(0.6, 0.02, lower), np.random.default_rng(1)
    found = [cheapest_limit([(row, 300.0)], place, cost, rng) for cost in (0.0, 60.0, 100.0, 1e5)]
    values = [abs(part.value) if part.value is not None else 99.0 for part in found]
    assert values[0] == 0.0
    assert values == sorted(values)
    assert 0.0 < values[1] < values[2] < 99.0
    assert (found[3].value, found[3].low, found[3].high) == (None, None, None)
    assert found[1].low is not None
    assert found[1].high is not None
    assert found[1].low <= found[1].value <= found[1].high


def test_where_rework_may_never_pay_the_interval_is_open() -> None:
    found = cheapest_limit([(fit_row(0.35, 0.2), 300.0)], HIGHER, 40.0, np.random.default_rng(1))
    assert found.high is None


def test_rework_costs_what_the_firm_says_else_usual_hours_else_nothing_is_known() -> None:
    assert rework_cost(HIGHER, 90.0, 40.0) == 90.0
    assert rework_cost(HIGHER, None, 40.0) == pytest.approx(80.0)  # a fifth of ten hours: common practice, no source
    assert rework_cost(HIGHER, None, None) is None
    assert {place.step for place in PLACES.values()} >= {replace(HIGHER).step}
    assert all(rework_cost(place, None, 1.0) for place in PLACES.values())

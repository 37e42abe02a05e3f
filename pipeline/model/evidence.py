"""What can be said of a pair, and when nothing can: the gates are decided from the design, never from the estimate."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import polars as pl
from scipy import linalg

from pipeline.model.pair_design import STUDIED, PairDesign
from pipeline.stats.cross_products import cross_products
from pipeline.stats.intervals import Floats

LEAST_EVENTS = 10
LEAST_RECORDED_SHARE = 0.2
LEAST_EXPECTED_FAILED = 5.0
MOST_NULL_ERROR = 0.5
MOST_INFLATION = 5.0
MOST_ROUNDS = 20
STRONG_Q, SUGGESTIVE_P, STRONG_NEAR_END = 0.05, 0.05, 1.05
SHOWN = ("strong", "suggestive")  # the grades that something is shown with
GRADES = (*SHOWN, "none", "too_few")  # the best first


@dataclass(frozen=True)
class Room:
    """How much room the records leave to see an effect.

    share      residual variance of the deviation given its adjusters, as a share of its own variance
    rival      what takes most of it, in plain words
    """

    share: float
    rival: str

    @property
    def is_entangled(self) -> bool:
        """Variance inflation above 5."""
        return self.share < 1 / MOST_INFLATION


class DesignRoom:
    """Weighted cross products of a design, from which every gate is read without looking at the outcome."""

    def __init__(self, design: PairDesign, weights: Floats) -> None:
        """weights  (m,) time at risk of the doors, not all 0."""
        self.design = design
        w = weights / weights.sum()
        sums = cross_products(design.matrix, w, design.groups)
        mean = sums.by_group.sum(axis=0)
        columns = sums.products - np.outer(mean, mean)
        crews = np.diag(sums.weights) - np.outer(sums.weights, sums.weights)
        shared = sums.by_group - np.outer(sums.weights, mean)
        everything = np.block([[columns, shared.T], [shared, crews]])
        self._xx, self._xz, self._zz = float(everything[0, 0]), everything[1:, STUDIED], everything[1:, 1:]
        crew_precision = np.full(len(design.crews), 1e-6)
        self._precision = np.concatenate([design.precision[1:], crew_precision])
        self._spread = np.sqrt(np.maximum(np.diag(self._zz), 1e-12))
        self.failed_share = float(w @ (design.values > 0)) if design.place.is_check else np.nan

    def residual_variance(self, events: float) -> float:
        """Variance of the standardised deviation left by its adjusters, when `events` events inform their priors."""
        penalty = np.diag(self._precision / max(events, 1.0) + 1e-9)
        solved = linalg.solve(self._zz + penalty, self._xz, assume_a="pos")
        return max(self._xx - float(self._xz @ solved), 1e-12)

    def null_error(self, events: float) -> float:
        """Standard error of the contrast's log ratio if there were no effect."""
        return self.design.contrast_in_spreads / np.sqrt(max(events, 1e-9) * self.residual_variance(events))

    @cached_property
    def room(self) -> Room:
        """What the adjusters leave, judged on all doors, and the one that takes most."""
        share = self.residual_variance(len(self.design.rows)) / max(self._xx, 1e-12)
        correlation = np.abs(self._xz) / self._spread
        crews = len(self.design.crews)
        names = ["the crew", *map(self._in_words, self.design.names[2:]), *["the crew"] * crews]
        return Room(share, names[int(np.argmax(correlation))] if names else "nothing")

    def _in_words(self, column: str) -> str:
        return self.design.words.get(column, column.replace("_mm", "").replace("_kg", "").replace("_", " "))


def found_causes(effects: pl.DataFrame) -> pl.DataFrame:
    """The rows of effects that show a cause: strong, or suggestive, which is p_value <= 0.05."""
    return effects.filter((pl.col("role") == "cause") & pl.col("evidence").is_in(SHOWN))


def too_few(room: DesignRoom, events: int, recorded_share: float) -> str | None:
    """The sentence that says why nothing can be said, or None where something can."""
    place = room.design.place
    if recorded_share < LEAST_RECORDED_SHARE:
        return f"recorded on {recorded_share:.0%} of doors; record it on at least {LEAST_RECORDED_SHARE:.0%}"
    if events < LEAST_EVENTS:
        return f"{events} first callbacks; at least {LEAST_EVENTS} are needed"
    if place.is_check and events * room.failed_share < LEAST_EXPECTED_FAILED:
        return f"too few doors failed this check to compare ({room.failed_share:.1%} of the time at risk)"
    if room.room.is_entangled:
        return f"cannot be told apart from {room.room.rival}"
    error = room.null_error(events)
    if error > MOST_NULL_ERROR:
        more = (error / MOST_NULL_ERROR) ** 2
        return f"the doors are too alike or the callbacks too few; about {more:.1f} times as many callbacks are needed"
    return None


def times_needed(room: DesignRoom, events: int, recorded_share: float) -> float | None:
    """How many times as many doors like these would open every gate of `too_few`; None where more doors would not.

    Taken from the design and the count of first callbacks alone, as `too_few` is. More doors do not help where two
    deviations always come together, nor can it be said where the fault has not come back yet, or nobody failed a check.
    """
    failed = room.failed_share if room.design.place.is_check else 1.0
    if not events or not failed or room.room.is_entangled:
        return None
    times = max(1.0, LEAST_EVENTS / events, LEAST_RECORDED_SHARE / recorded_share)
    if room.design.place.is_check:
        times = max(times, LEAST_EXPECTED_FAILED / (events * failed))
    for _ in range(MOST_ROUNDS):  # more callbacks let the adjusters take more of the deviation, so it is asked again
        error = room.null_error(times * events)
        if error <= MOST_NULL_ERROR:
            return times
        times *= 1.01 * (error / MOST_NULL_ERROR) ** 2
    return None


def grade(p_value: float, q_value: float, near_end: float, is_worse: bool) -> tuple[str, str]:
    """Evidence and note. near_end: the contrast's interval end nearest to no effect, turned to the worse direction.

    q_value  nan for a variant, which is never strong on its own
    """
    if not is_worse:
        if p_value <= SUGGESTIVE_P:
            return "suggestive", "unexpected direction, check the records"
        return "none", ""
    if q_value <= STRONG_Q and near_end >= STRONG_NEAR_END:
        return "strong", ""
    return ("suggestive", "") if p_value <= SUGGESTIVE_P else ("none", "")

"""Deviations of doors as normal scores, worse upwards, freed of what the size and place of a door explain."""

from dataclasses import dataclass

import numpy as np
from scipy import linalg, special, stats

from pipeline.model.adjusters import Place
from pipeline.model.covariates import Columns
from pipeline.stats.intervals import Floats

MOST_ALIKE = 0.3  # where more doors share one value it is told apart as better or worse, not ranked
LEAST_RECORDED = 30


@dataclass(frozen=True)
class DoorScores:
    """(n,) scores, nan where not recorded. is_yes_no: 1 worse than most, 0 not; else normal over the firm's doors."""

    values: Floats
    is_yes_no: bool


def deviation_scores(values: Floats, place: Place, covariates: Columns) -> DoorScores | None:
    """The scores of one deviation's values (n,); None where it is recorded on too few doors or never differs."""
    turned = -values if place.is_lower_worse else values
    recorded = np.isfinite(turned)
    if recorded.sum() < LEAST_RECORDED or np.ptp(turned[recorded]) == 0:
        return None
    usual = _usual(turned[recorded])
    if place.is_check or usual is not None:
        worse = turned > (0.0 if place.is_check or usual is None else usual)
        return DoorScores(np.where(recorded, worse.astype(float), np.nan), True)
    scores = np.full(len(values), np.nan)
    scores[recorded] = _explained_away(normal_scores(turned[recorded]), covariates.matrix[recorded])
    return DoorScores(scores, False)


def step_scores(parts: list[DoorScores]) -> DoorScores | None:
    """One score a door for all deviations of a step: the mean of what is recorded, ranked over the firm."""
    if not parts:
        return None
    matrix = np.column_stack([_standardised(part.values) for part in parts])
    recorded = np.isfinite(matrix)
    doors = recorded.any(axis=1)
    total = np.where(recorded, matrix, 0.0).sum(axis=1)[doors] / np.sqrt(recorded.sum(axis=1)[doors])
    scores = np.full(len(matrix), np.nan)
    usual = _usual(np.round(total, 9))
    scores[doors] = normal_scores(total) if usual is None else (np.round(total, 9) > usual).astype(float)
    return DoorScores(scores, usual is not None)


def normal_scores(values: Floats) -> Floats:
    """Ranks as quantiles of the standard normal (Blom), ties at their mean rank."""
    return np.asarray(special.ndtri((stats.rankdata(values) - 0.375) / (len(values) + 0.25)))


def _usual(values: Floats) -> float | None:
    """The value that very many share, or None."""
    distinct, counts = np.unique(values, return_counts=True)
    return float(distinct[np.argmax(counts)]) if counts.max() > MOST_ALIKE * len(values) else None


def _standardised(values: Floats) -> Floats:
    return (values - np.nanmean(values)) / max(float(np.nanstd(values)), 1e-9)


def _explained_away(scores: Floats, covariates: Floats) -> Floats:
    """Residuals of a ridge regression on the door, so light that only what is collinear feels it."""
    x = covariates - covariates.mean(axis=0)
    solved = linalg.solve(x.T @ x + np.eye(x.shape[1]), x.T @ scores, assume_a="pos") if x.shape[1] else np.empty(0)
    residual = scores - scores.mean() - x @ solved
    return residual / max(float(residual.std()), 1e-9)

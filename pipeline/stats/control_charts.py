"""Control charts: constants, limits, and points that are compared with their own past.

Points that compare a value with the mean of all earlier ones are standard normal and independent while nothing
changes, whatever the level of the process is: no separate time of learning is needed, and short histories keep their
false-alarm rate.

Sources: ISO 7870-2 (Shewhart charts); Nelson (1994), J. Qual. Technol. 26, 74-79 (time between events); Kaminsky et al.
(1992), J. Qual. Technol. 24, 63-69 (g chart); Hawkins (1987), The Statistician 36, 299-316 and Quesenberry (1991),
J. Qual. Technol. 23, 213-224 (self-starting charts); Xie, Goh and Ranjan (2002), Reliab. Eng. Syst. Saf. 77, 143-150
(time of several events); Pignatiello and Samuel (2001), J. Qual. Technol. 33, 357-365 (when the process changed).
"""

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import special, stats

from pipeline.stats.intervals import Floats

NELSON_POWER = 0.2777
FARTHEST = 8.0  # a score further out says nothing more


@dataclass(frozen=True)
class ChartFactors:
    """Factors for subgroups of one size, normal values: of the standard deviation (c4, A3, B3, B4), of the range."""

    c4: float
    d2: float
    d3: float
    a2: float
    a3: float
    b3: float
    b4: float
    d_low: float
    d_high: float


@dataclass(frozen=True)
class ChartLimits:
    """Centre and limits of a chart."""

    centre: float
    low: float
    high: float


@cache
def chart_factors(size: int) -> ChartFactors:
    """The factors of the usual three-sigma charts for subgroups of `size`, 2 or more.

    d_low and d_high are the factors D3 and D4 of the range chart.
    """
    if size < 2:
        raise ValueError(f"a subgroup of {size} has no spread")
    half = special.gammaln(size / 2) - special.gammaln((size - 1) / 2)
    c4 = float(np.sqrt(2 / (size - 1)) * np.exp(half))
    d2, d3 = _range_moments(size)
    swing, spread = 3 * (1 - c4**2) ** 0.5 / c4, 3 * d3 / d2
    return ChartFactors(
        c4, d2, d3, 3 / (d2 * size**0.5), 3 / (c4 * size**0.5),
        max(0.0, 1 - swing), 1 + swing, max(0.0, 1 - spread), 1 + spread,
    )  # fmt: skip


def _range_moments(size: int) -> tuple[float, float]:
    """Mean and standard deviation of the range of `size` standard normal values, by Gauss-Legendre quadrature."""
    nodes, weights = np.polynomial.legendre.leggauss(160)
    x, wx = 8.5 * nodes, 8.5 * weights
    ranges, wr = 7.0 * (nodes + 1), 7.0 * weights
    inside = special.ndtr(x[:, None] + ranges[None, :]) - special.ndtr(x)[:, None]
    density = np.exp(-(x**2) / 2) / np.sqrt(2 * np.pi)
    beyond = 1 - size * (wx * density) @ inside ** (size - 1)
    mean = float(wr @ beyond)
    return mean, float(np.sqrt(2 * wr @ (ranges * beyond) - mean**2))


def individuals_limits(values: ArrayLike, width: float = 3.0) -> ChartLimits:
    """Limits of single values, their spread taken from the moving range of neighbours; two values at least."""
    x = np.asarray(values, dtype=float)
    sigma = float(np.abs(np.diff(x)).mean()) / chart_factors(2).d2
    return ChartLimits(float(x.mean()), float(x.mean() - width * sigma), float(x.mean() + width * sigma))


def count_limits(counts: ArrayLike, width: float = 3.0) -> ChartLimits:
    """Limits of counts on equal exposure (c chart)."""
    centre = float(np.mean(np.asarray(counts, dtype=float)))
    return ChartLimits(centre, max(0.0, centre - width * centre**0.5), centre + width * centre**0.5)


def between_events_limits(mean: float, width: float = 3.0) -> ChartLimits:
    """Limits of the number of good items between bad ones with that mean (g chart)."""
    reach = width * (mean * (mean + 1)) ** 0.5
    return ChartLimits(mean, max(0.0, mean - reach), mean + reach)


def nelson_limits(gaps: ArrayLike, width: float = 3.0) -> ChartLimits:
    """Limits of times between events to the power 0.2777, nearly normal where the times are exponential (t chart)."""
    return individuals_limits(np.asarray(gaps, dtype=float) ** NELSON_POWER, width)


def scores_against_past(means: Floats, variances: Floats) -> Floats:
    """How far each point lies above the weighted mean of the points before it, in standard errors of the difference.

    means, variances  (C, P) of C charts; nan where a chart has no such point
    Returns (C, P); nan where there is no point, or none before it. Standard normal and independent where the points
    are normal with one mean.
    """
    weights = np.where(np.isnan(means), 0.0, 1 / variances)
    weights = np.where(np.isfinite(weights), weights, 0.0)
    before = np.cumsum(weights, axis=1) - weights
    sums = np.cumsum(weights * np.nan_to_num(means), axis=1) - weights * np.nan_to_num(means)
    with np.errstate(divide="ignore", invalid="ignore"):
        scores = (means - sums / before) / np.sqrt(variances + 1 / before)
    return np.where((before > 0) & (weights > 0), scores, np.nan)


def moving_range_factor(means: Floats, variances: Floats) -> float:
    """How many times as far neighbouring points lie apart as their own errors say; 1 where no points are neighbours.

    means, variances  (C, P) as in scores_against_past, gaps left out
    """
    jumps = []
    for row, own in zip(means, variances, strict=True):
        kept = np.isfinite(row)
        x, v = row[kept], own[kept]
        jumps.append(np.abs(np.diff(x)) / np.sqrt(v[1:] + v[:-1]))
    every = np.concatenate(jumps) if jumps else np.empty(0)
    return float(every.mean() * np.sqrt(2) / chart_factors(2).d2) if len(every) else 1.0


def share_scores(hits: NDArray[np.int64], trials: NDArray[np.int64], is_exact: bool) -> Floats:
    """How surprising each count of hits is, given those before it, as a normal score: hypergeometric tail.

    hits, trials  (C, P); trials 0: no point
    is_exact      True: P(as many or more), which never alarms too often; False: mid-p, nearly standard normal
    """
    past_hits, past = np.cumsum(hits, axis=1) - hits, np.cumsum(trials, axis=1) - trials
    scores = np.full(hits.shape, np.nan)
    at = (trials > 0) & (past > 0)
    x, n, total, good = hits[at], trials[at], (past + trials)[at], (past_hits + hits)[at]
    tail = stats.hypergeom.sf(x - 1, total, good, n)
    if not is_exact:
        tail = tail - stats.hypergeom.pmf(x, total, good, n) / 2
    scores[at] = np.clip(stats.norm.isf(tail), -FARTHEST, FARTHEST)
    return scores


def gap_scores(gaps: ArrayLike, together: int) -> Floats:
    """How surprisingly short the time of `together` events was, given all gaps before, as a normal score.

    gaps  times between successive events, over 0, on a scale on which events come evenly
    Returns (len(gaps) // together,), nan for the first. The ratio of two sums of exponential times is an F variable,
    so the scores are standard normal exactly while the rate stays.
    """
    blocks = len(gaps := np.asarray(gaps, dtype=float)) // together
    sums = gaps[: blocks * together].reshape(blocks, together).sum(axis=1)
    past = np.cumsum(sums) - sums
    n = np.arange(blocks) * together
    scores = np.full(blocks, np.nan)
    if blocks > 1:
        ratio = (sums[1:] / together) / (past[1:] / n[1:])
        p = stats.f.cdf(ratio, 2 * together, 2 * n[1:])
        scores[1:] = np.clip(stats.norm.isf(p), -FARTHEST, FARTHEST)
    return scores


def upward_ewma(scores: Floats, weight: float, limit: float) -> tuple[Floats, NDArray[np.bool_], NDArray[np.int64]]:
    """A weighted mean that looks back, held at 0 from below, begun anew after each alarm.

    scores  (C, P), nan where there is no point; z = max(0, (1 - weight) z + weight score), alarm where z > limit
    Returns path (C, P) with nan, alarms (C, P), and the number of the point at which each rise began (C, P): of an
    alarm the likeliest since the mean left 0, which can be long before.
    """
    path, alarms, since = _climb(scores, 1 - weight, weight, limit)
    for chart, point in zip(*np.nonzero(alarms), strict=True):
        begun = int(since[chart, point])
        since[chart, point] = begun + likeliest_change(scores[chart, begun : point + 1])
    return path, alarms, since


def likeliest_change(scores: Floats) -> int:
    """The point from which on the mean of these scores was most likely above 0; nan where there is no point.

    scores  (P,), independent and standard normal until the change, with one raised mean from it on; the last is seen
    Largest likelihood: the sum from there on, squared, over how many they are (Pignatiello and Samuel 2001).
    """
    seen = np.isfinite(scores)
    sums, n = np.cumsum(np.nan_to_num(scores)[::-1])[::-1], np.cumsum(seen[::-1])[::-1]
    return int(np.argmax(np.where(seen, np.maximum(sums, 0.0) ** 2 / np.maximum(n, 1), -1.0)))


def upward_sum(scores: Floats, limit: Floats | float) -> tuple[Floats, NDArray[np.bool_], NDArray[np.int64]]:
    """A cumulative sum held at 0 from below, begun anew after each alarm; as upward_ewma. limit: (C,) or one."""
    return _climb(scores, 1.0, 1.0, limit)


def _climb(
    scores: Floats, keep: float, take: float, limit: Floats | float
) -> tuple[Floats, NDArray[np.bool_], NDArray[np.int64]]:
    charts, points = scores.shape
    path, alarms = np.full(scores.shape, np.nan), np.zeros(scores.shape, dtype=bool)
    since = np.zeros(scores.shape, dtype=np.int64)
    z, begun = np.zeros(charts), np.zeros(charts, dtype=np.int64)
    for point in range(points):
        x = scores[:, point]
        seen = np.isfinite(x)
        begun = np.where(seen & (z == 0), point, begun)
        z = np.where(seen, np.maximum(0.0, keep * z + take * np.nan_to_num(x)), z)
        path[seen, point] = z[seen]
        alarms[:, point] = seen & (z > limit)
        since[:, point] = begun
        z = np.where(alarms[:, point], 0.0, z)
    return path, alarms, since

"""What practice in a step is worth, crew by crew: callbacks a year spared at the firm's better half, with interval."""

import os
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.model.evidence import LEAST_EVENTS, SHOWN
from pipeline.model.risk import FirstFaults
from pipeline.model.step_gain import StepMultiplier, step_multiplier
from pipeline.model.study import Study
from pipeline.stats.blas import one_blas_thread
from pipeline.stats.intervals import Floats
from pipeline.stats.shrinkage import BetaPrior

N_DRAWS = 1000
# What the draws do not know (blur of instruments, risks that bend): without it 95 % intervals held 89 to 91 % of the
# crews and steps of ten simulated firms of 6 and 24 crews.
WIDENED = 1.35
FEW_FIRSTS = 5.0  # first episodes that the firm's mean weighs beside a crew's own: a judgement, no source
Flags = NDArray[np.bool_]


@dataclass(frozen=True)
class StepShares:
    """One step over the firm's crews (G,): doors out of doors with anything recorded, and the prior they share."""

    out: Floats
    doors: Floats
    prior: BetaPrior

    def better_half(self, rng: np.random.Generator) -> tuple[Flags, Flags]:
        """(G,) the crews of the better half by their shrunken share, and (R, G) the same in draws of these shares."""
        a, b = self.out + self.prior.a, self.doors - self.out + self.prior.b
        shares, draws = a / (a + b), rng.beta(a, b, (N_DRAWS, len(a)))
        return self._lower_half(shares[None])[0], self._lower_half(draws)

    def _lower_half(self, shares: Floats) -> Flags:
        known = np.where(self.doors > 0, shares, np.nan)
        return np.asarray(known <= np.nanmedian(known, axis=1)[:, None])


@dataclass(frozen=True)
class Gain:
    """Callbacks a year spared by each crew (G,): at its limits, and at the better half with its 95 % interval."""

    at_limits: Floats
    priority: Floats
    low: Floats
    high: Floats


@dataclass(frozen=True)
class Year:
    """counted: by fault, episodes in the last `years` years; lately (n,): share of each door's watch in them.

    episodes  by fault, (G,) all episodes of each crew that crews answer for, later ones of the same door included
    """

    counted: dict[str, int]
    years: float
    lately: Floats
    episodes: dict[str, Floats]


def step_gains(
    study: Study, faults: dict[str, FirstFaults], effects: pl.DataFrame, shares: dict[str, StepShares], year: Year
) -> dict[str, Gain]:
    """By step, for the steps with a cause that has evidence and two crews or more.

    effects  the table; which of its causes contribute: see `_causes`
    """
    jobs = [job for job in _causes(effects, study.expected_pairs) if job[0] in shares and job[1] in faults]

    def fit(job: tuple[str, str, list[str]]) -> StepMultiplier | None:
        _, fault, names = job
        return step_multiplier(study.firm, study.limits, [study.firm.places[name] for name in names], faults[fault])

    with one_blas_thread(), ThreadPoolExecutor(os.cpu_count()) as pool:
        found = list(zip(jobs, pool.map(fit, jobs), strict=True))
    gains = {}
    for order, (step, of_step) in enumerate(shares.items()):
        parts = [(fault, part) for (name, fault, _), part in found if name == step and part is not None]
        if parts and (of_step.doors > 0).sum() > 1:
            rng = np.random.default_rng([study.seed, 41, order])
            gains[step] = _gain(parts, study.firm.groups, of_step, year, rng)
    return gains


def _causes(effects: pl.DataFrame, expected: set[tuple[str, str]]) -> Iterator[tuple[str, str, list[str]]]:
    """Step, fault and the causes of the step that count, in the steps where any cause has evidence.

    What the trade expects counts whatever its own evidence: were it chosen by what it shows, the chosen would be
    overstated and the left out be missing. What it does not expect counts where it is strong: of the rest that is
    suggestive nearly all is chance.
    """
    causes = effects.filter(pl.col("role") == "cause")
    shows = pl.col("evidence").is_in(SHOWN) & (pl.col("contrast_ratio") > 1)
    pairs = pl.DataFrame(sorted(expected), schema={"deviation": pl.String, "fault": pl.String}, orient="row")
    is_strong = (pl.col("evidence") == "strong") & (pl.col("contrast_ratio") > 1)
    told = causes.filter(pl.col("step").is_in(causes.filter(shows)["step"].unique().to_list()))
    known = told.filter(pl.col("events") >= LEAST_EVENTS).join(pairs, on=["deviation", "fault"], how="semi")
    counted = pl.concat([known, told.filter(is_strong)]).unique(["fault", "deviation"])
    for (step, fault), rows in counted.sort("step", "fault", "deviation").group_by(
        "step", "fault", maintain_order=True
    ):
        yield str(step), str(fault), rows["deviation"].to_list()


def _gain(
    parts: list[tuple[str, StepMultiplier]],
    groups: NDArray[np.int64],
    shares: StepShares,
    year: Year,
    rng: np.random.Generator,
) -> Gain:
    better, better_draws = shares.better_half(rng)
    limits, point, draws = np.zeros(len(better)), np.zeros(len(better)), np.zeros(better_draws.shape)
    for fault, part in parts:
        again = _episodes_a_first(part, groups, year.episodes.get(fault))
        lately = again * np.bincount(groups, part.expected * year.lately, len(better))
        own_share = lately / max(lately.sum(), 1e-12)
        counted = year.counted.get(fault, 0)
        a_year = own_share * counted / year.years
        mean = np.exp(part.log_mean)
        limits += a_year * (1 - np.exp(part.log_at_limits - part.log_mean))
        point += a_year * (1 - _mean_of(better[None], part.weight, mean[None]) / mean)[0]
        drawn = part.draws(rng, N_DRAWS)
        counts = rng.gamma(counted + 0.5, size=(N_DRAWS, 1)) / year.years
        own = np.bincount(groups, part.expected, len(better)) + 0.5  # the crew's part is known from so many callbacks
        counts = counts * rng.gamma(own, size=(N_DRAWS, len(own))) / own
        draws += counts * own_share * (1 - _mean_of(better_draws, part.weight, drawn) / drawn)
    low, high = np.quantile(draws, [0.025, 0.975], axis=0)
    low, high = (point + WIDENED * (bound - point) for bound in (low, high))
    # a crew that is better than the better half would spare nothing by meeting it
    return Gain(limits, *(np.maximum(value, 0.0) for value in (point, low, high)))


def _episodes_a_first(part: StepMultiplier, groups: NDArray[np.int64], episodes: Floats | None) -> Floats:
    """(G,) episodes for each first one: bad doors come back; few are pulled to the mean."""
    first = np.bincount(groups, part.expected)
    if episodes is None:
        return np.ones(len(first))
    usual = episodes.sum() / first.sum()
    return np.asarray((episodes + FEW_FIRSTS * usual) / (first + FEW_FIRSTS))


def _mean_of(better: Flags, weight: Floats, mean: Floats) -> Floats:
    """(R, 1) mean multiplier over the doors of the better half; better, mean (R, G), weight (G,)."""
    weights = better * np.where(np.isfinite(mean), weight, 0.0)
    total = weights.sum(axis=1, keepdims=True)
    summed = (weights * np.nan_to_num(mean)).sum(axis=1, keepdims=True)
    return np.divide(summed, total, out=np.full_like(summed, np.nan), where=total > 0)

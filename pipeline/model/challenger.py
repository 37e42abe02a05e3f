"""One fault foretold twice for a later period: by the plain model that recheck uses, and with what boosted trees add.

The trees start from what the plain model foretold of the earlier period, time at risk and age included, and see what it
sees but for two things: the year, which no later door shares, and that something is not recorded (it is filled with the
usual value: when recording began tells the period, not the door).
"""

from dataclasses import dataclass, replace

import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.model.later_period import LEAST_LATER, Came, Cut, came_later
from pipeline.model.pair_design import Firm
from pipeline.model.risk import FirstFaults, Watched, first_faults
from pipeline.model.risk_columns import RiskColumns, risk_columns
from pipeline.model.risk_model import Earlier, fit_risk
from pipeline.model.study import Study
from pipeline.stats.boosting import Correction, binned
from pipeline.stats.hazards import HazardData, HazardFit
from pipeline.stats.intervals import Floats
from pipeline.stats.prior_spreads import Spreads
from pipeline.stats.two_scores import Twice

MOST_OTHERS = 20_000  # doors without the fault that are looked at
LEAST_EARLIER = 30  # first callbacks that trees can learn anything from: a judgement, no source
NAMED_FROM = 0.25  # of what the foremost input tells: what tells less is not named
MOST_NAMED = 3


@dataclass(frozen=True)
class Inputs:
    """What the trees see: bins (m, p) and plain words of each column."""

    bins: Floats
    words: tuple[str, ...]


@dataclass(frozen=True)
class View:
    """What both models see of some doors. starts: fits of the plain model to begin from, by fault."""

    study: Study
    columns: RiskColumns
    inputs: Inputs
    starts: dict[str, HazardFit]


@dataclass(frozen=True)
class Challenge:
    """One fault on m doors, foretold from the records before the cut for the time after it.

    rows        (m,) row numbers among the firm's watched doors;  weights (m,) doors that each stands for
    groups      (m,) crew numbers
    plain       (m,) log hazard ratio of the plain model;  correction (m,) what the trees add
    exposure    (m,) events that the plain model would expect at log ratio 0, weights included
    before      first callbacks that it learned from
    """

    fault: str
    rows: NDArray[np.int64]
    weights: Floats
    groups: NDArray[np.int64]
    plain: Floats
    correction: Floats
    exposure: Floats
    came: Came
    before: int
    trees: Correction
    inputs: Inputs

    @property
    def scores(self) -> Floats:
        """(m, 2) log ratios of the plain model and of the challenger."""
        return np.column_stack([self.plain, self.plain + self.correction])

    def twice(self, correction: Floats) -> Twice:
        """What came, foretold by the plain model and by this correction beside it."""
        scores = np.column_stack([self.plain, correction])
        return Twice(scores, self.exposure, self.came.events, self.rows, self.groups)


def challenges(study: Study, cut: Cut, faults: list[str]) -> list[Challenge]:
    """Those faults of which the records before the cut hold enough to learn from."""
    early = cut.earlier(study.watched)
    known = [name for name in faults if first_faults(early, cut.before, name).n_events >= LEAST_EARLIER]
    if not known:
        return []
    spreads, whole = _learned(study, cut, faults)
    found = (_challenge((study, cut), (name, number), spreads, whole) for number, name in enumerate(known))
    return [each for each in found if each is not None]


def _learned(study: Study, cut: Cut, faults: list[str]) -> tuple[Spreads, View | None]:
    """How wide the plain model's priors are, as recheck learns it; and the firm whole where it is not too large."""
    step = -(-len(study.watched.groups) // MOST_OTHERS)
    some = study if step == 1 else _of_rows(study, np.arange(0, len(study.watched.groups), step))
    columns = risk_columns(some)
    earlier = Earlier(some, columns, replace(cut, ages=cut.ages[::step]))
    spreads = earlier.spreads(faults)
    return spreads, View(study, columns, _inputs(study.firm), earlier.starts) if step == 1 else None


def _challenge(
    known: tuple[Study, Cut], named: tuple[str, int], spreads: Spreads, whole: View | None
) -> Challenge | None:
    (study, cut), (fault, number) = known, named
    rows, weights = _sample(study, cut, fault, number)
    view, aged = whole or _view_of(_of_rows(study, rows)), replace(cut, ages=cut.ages[rows])
    if not view.inputs.words:
        return None
    watched = view.study.watched
    early = aged.earlier(watched)
    seen = first_faults(early, cut.before, fault)
    weighed = FirstFaults(seen.time * weights[:, None], seen.events, seen.cuts)
    data = HazardData(view.columns.matrix, weighed.time, weighed.events, watched.groups)
    fit = fit_risk(data, view.columns.kinds_for(fault, view.study), spreads, view.starts.get(fault))
    if fit is None:
        return None
    plain = np.asarray(view.columns.matrix @ fit.beta + fit.group_effects[watched.groups])
    bins = view.inputs.bins
    trees = Correction(bins, _foretold(weighed.time, fit, plain), weighed.events.sum(axis=1), study.seed)
    came = came_later(aged, watched, fault, seen)
    exposure = weights * _foretold(came.time, fit, np.zeros(len(rows)))
    correction = trees.of(bins)
    return Challenge(
        fault, rows, weights, watched.groups, plain, correction, exposure, came, seen.n_events, trees, view.inputs
    )


def _view_of(study: Study) -> View:
    return View(study, risk_columns(study), _inputs(study.firm), {})


def is_judged(found: Challenge) -> bool:
    """Enough came later to judge the fault by itself."""
    return bool(found.came.events.sum() >= LEAST_LATER)


def foremost(found: Challenge, seed: int) -> list[str]:
    """The inputs that tell most of what came beyond the plain model, foremost first; empty where none does."""
    full, words = _told(found, found.correction), np.array(found.inputs.words)
    lost = {}
    for name in dict.fromkeys(found.inputs.words):
        dealt = found.trees.without(found.inputs.bins, np.flatnonzero(words == name), seed)
        lost[name] = full - _told(found, dealt)
    first = max(lost.values(), default=0.0)
    named = [name for name, drop in sorted(lost.items(), key=lambda item: -item[1]) if drop > NAMED_FROM * first]
    return named[:MOST_NAMED] if first > 0 else []


def _told(found: Challenge, correction: Floats) -> float:
    """Log likelihood of what came with this correction at its word, the level at its best."""
    return found.twice(correction).log_likelihood(np.ones(2))


def _foretold(time: Floats, fit: HazardFit, log_ratio: Floats) -> Floats:
    return np.asarray(time @ np.exp(fit.baseline) * np.exp(log_ratio))


def _sample(study: Study, cut: Cut, fault: str, number: int) -> tuple[NDArray[np.int64], Floats]:
    """Every door with the fault and at most MOST_OTHERS without, and how many doors each stands for."""
    faulty = cut.episodes.filter((pl.col("kind") == "episode") & (pl.col("fault") == fault))["install_id"].unique()
    is_faulty = study.watched.install_ids.is_in(faulty.implode()).to_numpy()
    others = np.flatnonzero(~is_faulty)
    weights = np.ones(len(is_faulty))
    if len(others) > MOST_OTHERS:
        rng = np.random.default_rng([study.seed, number])
        kept = rng.choice(others, MOST_OTHERS, replace=False)
        weights[others] = 0.0
        weights[kept] = len(others) / MOST_OTHERS
    rows = np.flatnonzero(weights > 0)
    return rows, weights[rows]


def _of_rows(study: Study, rows: NDArray[np.int64]) -> Study:
    """The same study of some of its doors."""
    watched, firm = study.watched, study.firm
    covariates = replace(firm.covariates, matrix=firm.covariates.matrix[rows])
    some = Firm(firm.groups[rows], covariates, firm.values[rows], firm.places)
    ids, crews = (series.gather(rows) for series in (watched.install_ids, watched.crews))
    seen = Watched(ids, crews, watched.groups[rows], watched.entry[rows], watched.leave[rows])
    return replace(study, watched=seen, firm=some, limits=study.limits[rows])


def _inputs(firm: Firm) -> Inputs:
    parts, words = [], []
    for place in firm.places.values():
        if place.role in ("cause", "symptom") and firm.is_told(place):
            values = firm.values[:, place.ordinal]
            parts.append(np.where(np.isnan(values), np.nanmedian(values), values))
            words.append(place.words)
    for name, column in zip(firm.covariates.names, firm.covariates.matrix.T, strict=True):
        if "(not recorded)" not in name and not name.startswith("year "):
            parts.append(column)
            words.append(_trait(name))
    matrix = np.column_stack(parts) if parts else np.zeros((len(firm.groups), 0))
    return Inputs(binned(matrix), tuple(words))


def _trait(column: str) -> str:
    """`width_mm` → `width`, `product fold 60` → `product`."""
    for factor in ("product", "storey", "exposure", "substrate", "material and colour", "season"):
        if column.startswith(f"{factor} "):
            return factor
    if column.startswith("work "):
        return "kind of work"
    return column.replace("_mm", "").replace("_kg", "").replace("_", " ")

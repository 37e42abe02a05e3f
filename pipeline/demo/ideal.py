"""What a fit says that sees the true deviations and holds fixed exactly what it should: the best one can hope for."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
import polars as pl
from scipy import stats

from pipeline.catalogue.rows import Deviation
from pipeline.demo.arrays import Floats, Ints
from pipeline.demo.hazards import days_at_risk, expected_first_reports, expected_reports, log_risk
from pipeline.demo.scenario import DAYS_A_YEAR
from pipeline.demo.simulate import Firm
from pipeline.demo.truth import is_held_fixed
from pipeline.demo.world import FAULTS
from pipeline.stats.blas import one_blas_thread
from pipeline.stats.group_spread import fit_with_group_spread
from pipeline.stats.hazards import HazardData, HazardFit, Prior, fit_hazard
from pipeline.stats.intervals import Z95
from pipeline.stats.multiplicity import q_values
from pipeline.stats.time_at_risk import count_events, event_cuts, split_time

OTHERS_PRECISION = 1 / 0.35**2  # normal prior, sd 0.35 per standard deviation, as for the firm's own fit
LEAST_EVENTS = 10
STRONG_Q, STRONG_NEAR_END = 0.05, 1.05
_NOTHING = np.empty(0)
Outcome = tuple[Floats, Floats]  # time at risk, years, and first reports, both (doors, intervals)


@dataclass(frozen=True)
class _Seen:
    """Doors sorted by crew: order (n,) door numbers; groups (n,); traits (n, t)."""

    order: Ints
    groups: Ints
    traits: Floats
    deviations: dict[str, Floats]  # standardised
    means: dict[str, Floats]  # of the crew


@dataclass(frozen=True)
class _Fault:
    """One fault's first reports, and where its fits start: the fit with everything in it."""

    name: str
    time: Floats
    events: Floats
    crew_precision: float
    start: dict[str, float]
    baseline: Floats
    crew_effects: Floats


def ideal_fit(firm: Firm, pairs: pl.DataFrame | None = None) -> pl.DataFrame:
    """Fits every fault with 10 or more first reports on every cause, on true values.

    pairs   fault and deviation of those to fit; None: all
    Returns fault, deviation, log_ratio (for `per` more), se, contrast_se (from the 10th to the 90th percentile; a
    check: from passed to what doors that failed it show), p_value, q_value, events, is_strong: q of at most 0.05 in its
    family of comparisons, in the worse direction, the near end of the contrast's interval at least 1.05.
    """
    fits = _fits(firm, lambda name: _seen_outcome(firm, name), pairs)
    return _with_evidence(fits, firm)


def population_effects(firm: Firm, pairs: pl.DataFrame | None = None) -> pl.DataFrame:
    """The same fits where each door shows what is expected of it: no chance in the events, none in a large firm.

    This is the effect that the model stands for in the population: the total effect of `truth`, a little nearer to
    none where later steps, which must stay free, leave the doors of a kind unequal, so that the worst call first.
    Returns fault, deviation, log_ratio.
    """
    fits = _fits(firm, lambda name: _expected_outcome(firm, name), pairs)
    return fits.select("fault", "deviation", "log_ratio")


def _fits(firm: Firm, outcome: Callable[[str], Outcome], pairs: pl.DataFrame | None) -> pl.DataFrame:
    seen = _seen(firm)
    causes = [row for row in firm.catalogue.deviations if row.role == "cause" and row.name in firm.true]
    wanted = set((firm.truth if pairs is None else pairs).select("fault", "deviation").iter_rows())
    rows: list[dict[str, Any]] = []
    with one_blas_thread():
        for name in sorted({fault for fault, _ in wanted}):
            time, events = outcome(name)
            if events.sum() >= LEAST_EVENTS:
                fault = _fault(firm, seen, (name, time[seen.order], events[seen.order]))
                rows += [_pair(firm, seen, fault, row, causes) for row in causes if (name, row.name) in wanted]
    return pl.DataFrame(rows)


def _seen(firm: Firm) -> _Seen:
    order = np.argsort(firm.doors.crew, kind="stable")
    _, groups = np.unique(firm.doors.crew[order], return_inverse=True)
    scaled = {name: _scaled(values[order]) for name, values in firm.true.items()}
    means = {name: (np.bincount(groups, z) / np.bincount(groups))[groups] for name, z in scaled.items()}
    traits = np.column_stack([values[order] for values in firm.doors.traits.values()])
    return _Seen(order, groups.astype(np.int64), traits - traits.mean(axis=0), scaled, means)


def _scaled(values: Floats) -> Floats:
    return (values - values.mean()) / (values.std() or 1.0)


def first_reports(firm: Firm, fault: str) -> tuple[Ints, Floats]:
    """Door numbers and ages, years, of each door's first report of a fault that a crew answers for."""
    callbacks, installs = firm.records["callbacks"], firm.doors.installs
    doors = installs.select("install_id", start=pl.coalesce("handed_over_on", "fitted_on")).with_row_index("door")
    first = (
        callbacks.filter(pl.col("fault") == fault)
        .filter(pl.col("responsibility").fill_null("unknown").is_in(["installation", "unknown"]))
        .join(doors, on="install_id")
        .filter(pl.col("reported_on") >= pl.col("start"))
        .group_by("door")
        .agg((pl.col("reported_on") - pl.col("start")).dt.total_days().min().alias("age"))
        .sort("door")
    )
    return first["door"].to_numpy().astype(np.int64), np.maximum(first["age"].to_numpy(), 0.5) / DAYS_A_YEAR


def _seen_outcome(firm: Firm, name: str) -> Outcome:
    door, age = first_reports(firm, name)
    leave = np.maximum(days_at_risk(firm.doors, firm.scenario), 0.5) / DAYS_A_YEAR
    leave[door] = np.minimum(leave[door], age)
    cuts = event_cuts(age)
    return split_time(np.zeros(len(leave)), leave, cuts), count_events(door, age, len(leave), cuts)


def _expected_outcome(firm: Firm, name: str) -> Outcome:
    risk = np.exp(log_risk(name, firm.doors, firm.true, firm.scenario))
    return expected_first_reports(risk, expected_reports(name, firm.scenario), FAULTS[name], firm.doors, firm.scenario)


def _fault(firm: Firm, seen: _Seen, named: tuple[str, Floats, Floats]) -> _Fault:
    name, time, events = named
    weak = np.ones(seen.traits.shape[1])
    _, crew_sd = fit_with_group_spread(HazardData(seen.traits, time, events, seen.groups), weak)
    everything = np.column_stack([seen.traits, *seen.deviations.values()])
    precision = np.concatenate([weak, np.full(len(seen.deviations), OTHERS_PRECISION)])
    full = fit_hazard(HazardData(everything, time, events, seen.groups), Prior(precision, crew_sd**-2), tolerance=1e-2)
    names = [*firm.doors.traits, *seen.deviations]
    start = dict(zip(names, full.beta.tolist(), strict=True))
    return _Fault(name, time, events, crew_sd**-2, start, full.baseline, full.group_effects)


def _pair(firm: Firm, seen: _Seen, fault: _Fault, cause: Deviation, causes: list[Deviation]) -> dict[str, Any]:
    held = [row.name for row in causes if row.family != cause.family and is_held_fixed(row, cause, firm.catalogue)]
    others = [seen.deviations[name] for name in held]
    design = np.column_stack([seen.deviations[cause.name], seen.means[cause.name], seen.traits, *others])
    precision = np.concatenate([[0.0, 1.0], np.ones(seen.traits.shape[1]), np.full(len(held), OTHERS_PRECISION)])
    beta = np.array([fault.start[name] for name in (cause.name, *firm.doors.traits, *held)])
    start = HazardFit(
        fault.baseline, np.insert(beta, 1, 0.0), fault.crew_effects, _NOTHING, _NOTHING, 0.0, _NOTHING, _NOTHING
    )
    data = HazardData(design, fault.time, fault.events, seen.groups)
    fit = fit_hazard(data, Prior(precision, fault.crew_precision), start=start, tolerance=1e-2)
    unit = cause.per / float(firm.true[cause.name].std())
    return {
        "fault": fault.name,
        "deviation": cause.name,
        "log_ratio": float(fit.beta[0]) * unit,
        "se": float(np.sqrt(fit.beta_covariance[0, 0])) * unit,
        "events": int(fault.events.sum()),
        "contrast": _contrast(firm.true[cause.name], cause) / cause.per,
    }


def _contrast(values: Floats, cause: Deviation) -> float:
    """From the better to the worse end of what the doors show, in the deviation's unit, signed."""
    if cause.how == "checks":
        failed = values[values > 0]
        return float(failed.mean()) if len(failed) else 1.0
    low, high = np.quantile(values, [0.1, 0.9])
    return float(low - high) if cause.worse == "lower" else float(high - low)


def _with_evidence(fits: pl.DataFrame, firm: Firm) -> pl.DataFrame:
    expected = {(pair.deviation, pair.fault) for pair in firm.catalogue.pairs}
    is_expected = np.array([pair in expected for pair in fits.select("deviation", "fault").iter_rows()])
    z = fits["log_ratio"].to_numpy() / fits["se"].to_numpy()
    p = 2 * stats.norm.sf(np.abs(z))
    q = np.ones(len(p))
    for family in (is_expected, ~is_expected):
        q[family] = q_values(p[family])
    worse = fits["log_ratio"].to_numpy() * fits["contrast"].to_numpy()
    near_end = worse - Z95 * fits["se"].to_numpy() * np.abs(fits["contrast"].to_numpy())
    return fits.with_columns(
        contrast_se=pl.Series(fits["se"].to_numpy() * np.abs(fits["contrast"].to_numpy())),
        p_value=pl.Series(p),
        q_value=pl.Series(q),
        is_strong=pl.Series((q <= STRONG_Q) & (near_end >= np.log(STRONG_NEAR_END))),
    ).drop("contrast")

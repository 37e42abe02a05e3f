"""training_effects: whether the doors fitted after a training are better than those before, against untrained crews.

A crew's doors after its first training in a step are compared with its doors before, less what changed meanwhile in
crews not yet trained in that step. The 90 days just before the training are left out of `before`: crews are trained
because their last doors looked bad, and some of that was chance, which mends itself. just_before_ratio shows how the
doors of those days stood against the earlier ones; naive_ratio is the plain comparison that takes it all for training.

grain: one row per crew (or `all`), step and outcome
key: crew, step, outcome
left out: trainings before the first or after the last door of their crew
columns:
  crew               text     part of the key; `all`: all trainings in the step together
  step               text     part of the key
  trained_on         date     first training of the crew in the step; of `all`: the first of any crew
  outcome            text     part of the key; out_share, or callbacks (of faults with a listed link to the step)
  ratio              double   after / before, against crews not yet trained; empty where the doors are too few
  ratio_low          double   lower end of its 95 % interval
  ratio_high         double   upper end
  p_value            double   share of days without a training on which untrained crews changed as much
  doors_before       integer  doors fitted before, the 90 days before the training left out
  doors_after        integer  doors fitted after
  events_before      integer  doors out, or callbacks, among the doors before
  events_after       integer  the same after
  doors_untrained    integer  doors of crews not yet trained that they were compared with
  sessions           integer  days of training of this crew, or of all
  just_before_ratio  double   the 90 days before the training against earlier; empty where not compared
  just_before_low    double   lower end of its 95 % interval
  just_before_high   double   upper end
  doors_just_before  integer  doors fitted in those days
  naive_ratio        double   after / all doors before, the same crew only, for doors alike; empty where not compared
  note               text     why there is no ratio

Sources: see stats/before_after.py.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
import polars as pl

from pipeline.model.days import day_number, numbers_of
from pipeline.model.risk import crew_numbers
from pipeline.model.training_outcomes import Outcome, callbacks_of, linked_faults, out_of_limits
from pipeline.stats.before_after import (
    AFTER,
    BEFORE,
    JUST_BEFORE,
    Change,
    Units,
    change_of,
    placebo_scores,
    pooled_change,
    usual_means,
)
from pipeline.stats.blas import one_blas_thread
from pipeline.stats.intervals import Floats, ratio_interval

ALL = "all"
GAP_DAYS = 90
LEAST_EXPECTED = 5.0  # doors out, or callbacks, on either side
LEAST_UNTRAINED = 2  # crews with doors on both sides to compare with
CUT_DAYS = 30  # from one day that is taken for a training to the next
NEVER = np.iinfo(np.int64).max // 2

SCHEMA = pl.Schema({
    "crew": pl.String, "step": pl.String, "trained_on": pl.Date, "outcome": pl.String, "ratio": pl.Float64,
    "ratio_low": pl.Float64, "ratio_high": pl.Float64, "p_value": pl.Float64, "doors_before": pl.Int64,
    "doors_after": pl.Int64, "events_before": pl.Int64, "events_after": pl.Int64, "doors_untrained": pl.Int64,
    "sessions": pl.Int64, "just_before_ratio": pl.Float64, "just_before_low": pl.Float64,
    "just_before_high": pl.Float64, "doors_just_before": pl.Int64, "naive_ratio": pl.Float64, "note": pl.String,
})  # fmt: skip


@dataclass(frozen=True)
class _Doors:
    """One outcome with the days of fitting and of the crew's first training in the step, days since 1970."""

    names: list[str]
    units: Units
    days: Floats
    trained: Floats

    @property
    def is_untrained(self) -> np.ndarray:
        """Fitted before the crew's training, and not just before it."""
        return self.days < self.trained - GAP_DAYS


@dataclass(frozen=True)
class _Session:
    """A crew's first training in a step, what it was judged by, and what came of it; change None: too few."""

    row: dict[str, Any]
    change: Change | None
    log_naive: float
    spread: float = 1.0


def build(
    staged_training: pl.DataFrame,
    staged_installs: pl.DataFrame,
    door_steps: pl.DataFrame,
    door_time: pl.DataFrame,
    episodes: pl.DataFrame,
    catalogue_pairs: pl.DataFrame,
    catalogue_deviations: pl.DataFrame,
) -> pl.DataFrame:
    """One row per crew and for all, step and outcome."""
    faults = linked_faults(catalogue_pairs, catalogue_deviations)
    rows: list[dict[str, Any]] = []
    with one_blas_thread():
        for (step,), training in sorted(staged_training.partition_by("step", as_dict=True).items()):
            name = str(step)
            outcomes = {
                "out_share": out_of_limits(door_steps, staged_installs, name),
                "callbacks": callbacks_of(faults.get(name, set()), door_time, episodes, staged_installs),
            }
            for outcome, found in outcomes.items():
                if found is not None:
                    rows += _rows(found, training, {"step": name, "outcome": outcome})
    return pl.DataFrame(rows, schema=SCHEMA).sort("step", "outcome", "crew")


def _rows(outcome: Outcome, training: pl.DataFrame, what: dict[str, str]) -> list[dict[str, Any]]:
    doors = _doors(outcome, training)
    scores = _placebo(doors)
    sessions = [_session(doors, number, training, what, scores) for number in range(len(doors.names))]
    found = [session for session in sessions if session is not None]
    return [*(session.row for session in found), *([_together(found, what, scores)] if found else [])]


def _doors(outcome: Outcome, training: pl.DataFrame) -> _Doors:
    names = outcome.doors["crew"].unique(maintain_order=True).to_list()
    groups = crew_numbers(outcome.doors["crew"])
    first = dict(training.group_by("crew").agg(pl.col("trained_on").min()).iter_rows())
    trained = np.array([day_number(first[name]) if name in first else NEVER for name in names], dtype=float)
    fitted = outcome.doors["fitted_on"]
    quarters = (fitted.dt.year() * 4 + fitted.dt.quarter()).to_numpy()
    times = np.unique(quarters, return_inverse=True)[1]
    units = Units(outcome.events, outcome.expected, groups, times)
    return _Doors(names, units, numbers_of(fitted).astype(float), trained[groups])


def _placebo(doors: _Doors) -> Floats:
    """Changes of crews on days on which they were not trained, in standard errors."""
    kept = doors.is_untrained
    usual = usual_means(doors.units.kept(kept)) if kept.any() else None
    if usual is None:
        return np.empty(0)
    days = doors.days[kept]
    cuts = np.arange(days.min() + GAP_DAYS, days.max(), CUT_DAYS)
    return placebo_scores(doors.units.kept(kept), usual[0], days, cuts, GAP_DAYS, usual[1], LEAST_EXPECTED)


def _session(doors: _Doors, crew: int, training: pl.DataFrame, what: dict[str, str], scores: Floats) -> _Session | None:
    own = doors.units.groups == crew
    day = doors.trained[own][0]
    after, before = own & (doors.days > day), own & (doors.days < day - GAP_DAYS)
    just = own & ~after & ~before
    if day >= NEVER or not after.any() or not (before | just).any():
        return None
    mine = training.filter(pl.col("crew") == doors.names[crew])
    others = ~own & doors.is_untrained
    row = what | {
        "crew": doors.names[crew], "trained_on": mine["trained_on"].min(), "sessions": mine.height,
        "doors_before": int(before.sum()), "doors_after": int(after.sum()), "doors_just_before": int(just.sum()),
        "doors_untrained": int(others.sum()), "events_before": int(doors.units.events[before].sum()),
        "events_after": int(doors.units.events[after].sum()),
    }  # fmt: skip
    note = _too_few(doors, (before, after), others, day)
    kept = own | others
    states = np.where(after, AFTER, np.where(just, JUST_BEFORE, BEFORE))[kept]
    change = None if note else change_of(doors.units.kept(kept), states)
    if change is None:
        return _Session(row | {"note": note or "nothing was out, or came back"}, None, np.nan)
    naive = _log_rate(doors.units, after) - _log_rate(doors.units, before | just)
    spread = _spread(scores)
    told = _told(change, spread, scores) | {"naive_ratio": float(np.exp(naive))}
    return _Session(row | told, change, naive, spread)


def _log_rate(units: Units, which: np.ndarray) -> float:
    return float(np.log((units.events[which].sum() + 0.5) / (units.expected[which].sum() + 0.5)))


def _too_few(doors: _Doors, sides: tuple[np.ndarray, np.ndarray], others: np.ndarray, day: float) -> str | None:
    """Why nothing can be said, decided from the doors and what is likely of them, never from what came."""
    units = doors.units
    for side, name in zip(sides, ("before", "after"), strict=True):
        if units.expected[side].sum() < LEAST_EXPECTED:
            return f"too few doors {name} the training ({int(side.sum())}) for their number to show anything yet"
    late, early = (set(units.groups[others & part]) for part in (doors.days > day, doors.days < day - GAP_DAYS))
    if len(late & early) < LEAST_UNTRAINED:
        return f"fewer than {LEAST_UNTRAINED} crews not yet trained in this step to compare with"
    return None


def _spread(scores: Floats) -> float:
    """How many times as much untrained crews change as chance alone says; 1 or more."""
    return max(1.0, float((scores**2).mean())) if len(scores) else 1.0


def _told(change: Change, spread: float, scores: Floats) -> dict[str, Any]:
    variance = change.variance * spread
    told = _ratios(change.log_ratio, variance, scores)
    if change.just_before_variance < 1:  # doors there were
        names = ("just_before_ratio", "just_before_low", "just_before_high")
        ends = ratio_interval(change.just_before, float(np.sqrt(change.just_before_variance * spread)))
        told |= dict(zip(names, ends, strict=True))
    return told


def _ratios(log_ratio: float, variance: float, scores: Floats) -> dict[str, Any]:
    ends = ratio_interval(log_ratio, float(np.sqrt(variance)))
    # the scores were not widened by their own spread, so neither is this one
    own = abs(log_ratio) / np.sqrt(variance / _spread(scores))
    p_value = (1 + float((np.abs(scores) >= own).sum())) / (1 + len(scores)) if len(scores) >= 20 else None
    return dict(zip(("ratio", "ratio_low", "ratio_high"), ends, strict=True)) | {"p_value": p_value}


def _together(sessions: list[_Session], what: dict[str, str], scores: Floats) -> dict[str, Any]:
    """The row `all`."""
    told = [session for session in sessions if session.change is not None]
    used = told or sessions
    counts = ("doors_before", "doors_after", "doors_just_before", "events_before", "events_after", "sessions")
    row = what | {name: sum(session.row[name] for session in used) for name in counts}
    row |= {"crew": ALL, "trained_on": min(session.row["trained_on"] for session in used)}
    row["doors_untrained"] = max(session.row["doors_untrained"] for session in used)
    if not told:
        reasons = {session.row["note"] for session in sessions}
        shared = reasons.pop() if len(reasons) == 1 else "too few doors before or after any training in this step"
        return row | {"note": shared}
    changes = [(session.change, session.spread) for session in told if session.change is not None]
    logs = np.array([change.log_ratio for change, _ in changes])
    pooled = pooled_change(logs, np.array([change.variance * spread for change, spread in changes]))
    naive = np.mean([session.log_naive for session in told])
    ratios = _ratios(pooled.log_ratio, pooled.variance, scores)
    return (
        row | ratios | {"naive_ratio": float(np.exp(naive)), "p_value": ratios["p_value"] if len(told) == 1 else None}
    )

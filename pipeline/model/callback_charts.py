"""Charts of callbacks: a risk-adjusted sum for each crew and each frequent fault, time between the rare ones."""

from dataclasses import dataclass, replace
from functools import partial

import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.model.callbacks_expected import (
    DoorRisk,
    DoorWatch,
    door_risk,
    expected_by_month,
    month_factors,
    month_over_dispersion,
    season_factors,
    steady_columns,
    watch_of,
)
from pipeline.model.chart_points import ALL, LEAST_POINTS, SCHEMA, run_length_for
from pipeline.model.covariates import Columns
from pipeline.model.days import numbers_of
from pipeline.model.risk import DAYS_PER_YEAR, answered_episodes
from pipeline.stats.control_charts import gap_scores, upward_sum
from pipeline.stats.cusum import ratio_scores
from pipeline.stats.intervals import Floats
from pipeline.stats.run_lengths import count_run_length, limit_for, shewhart_run_length
from pipeline.stats.shrinkage import GammaPrior, gamma_prior

RATIO = 1.5  # times as many callbacks as before that a sum looks for
FIRM_PRIOR = GammaPrior(4.0, 4.0)  # how far a fault's first months may lie from its mean over all months
FREQUENT = 1.0  # callbacks a month from which a fault has a sum of its own
TOGETHER = 3  # rare callbacks that make one point
LOWEST_LIMIT = 0.3
LEAST_EXPECTED = 8.0  # callbacks expected before a sum begins to be watched
CALLBACKS = "callbacks"


@dataclass(frozen=True)
class Log:
    """Callbacks that open an episode which a crew answers for. doors: rows of door_time, sorted by crew.

    calls  row (of doors), day (since 1970), age (years), fault
    month_starts (M + 1,) days; only months whose paper is complete
    """

    doors: pl.DataFrame
    watch: DoorWatch
    calls: pl.DataFrame
    month_starts: NDArray[np.int64]

    @property
    def years(self) -> float:
        """Years from the first month to the last."""
        return float(self.month_starts[-1] - self.month_starts[0]) / DAYS_PER_YEAR

    def counted(self, calls: pl.DataFrame, groups: NDArray[np.int64]) -> Floats:
        """(G, M) calls by group (of each door) and month."""
        months = len(self.month_starts) - 1
        month = np.searchsorted(self.month_starts, calls["day"].to_numpy(), side="right") - 1
        kept = (month >= 0) & (month < months)
        size = (int(groups.max(initial=-1)) + 1) * months
        place = groups[calls["row"].to_numpy()[kept]] * months + month[kept]
        return np.bincount(place, minlength=size).reshape(-1, months).astype(float)


def log_of(door_time: pl.DataFrame, episodes: pl.DataFrame, callback_months: pl.DataFrame) -> Log | None:
    """The log as arrays; None without a complete month or any door at risk."""
    doors = door_time.filter(pl.col("door_years") > 0).sort("crew", "install_id")
    months = callback_months.filter(pl.col("is_complete"))["month"].sort()
    if not doors.height or not len(months):
        return None
    starts = (months + "-01").str.to_date()
    ends = starts.dt.offset_by("1mo")
    days = numbers_of(pl.concat([starts, ends.tail(1)]))
    opening = answered_episodes(episodes)
    calls = (
        opening.join(doors.select("install_id").with_row_index("row"), on="install_id")
        .sort("reported_on", "callback_id", "fault")
        .select(
            pl.col("row").cast(pl.Int64),
            pl.col("reported_on").to_physical().cast(pl.Int64).alias("day"),
            (pl.col("age_days") / DAYS_PER_YEAR).alias("age"),
            "fault",
            "callback_id",
        )
    )
    return Log(doors, watch_of(doors), calls, days)


def crew_sums(log: Log, installs: pl.DataFrame) -> pl.DataFrame:
    """A risk-adjusted sum for each crew: months, callbacks of any fault against those its doors should bring."""
    calls = log.calls.unique("callback_id", maintain_order=True)
    covariates = steady_columns(log.doors, installs)
    risk = door_risk(log.watch, covariates, calls["row"].to_numpy(), calls["age"].to_numpy())
    if risk is None:
        return pl.DataFrame(schema=SCHEMA)
    counts = log.counted(calls, log.watch.groups)
    expected = expected_by_month(log.watch, risk, log.month_starts)
    expected = expected * month_factors(counts, expected)
    prior = gamma_prior(
        counts.sum(axis=1) / risk.over_dispersion, expected.sum(axis=1) / risk.over_dispersion, avoids_zero=True
    )
    names = log.doors["crew"].unique(maintain_order=True).to_list()
    sums = [_Sum(name, CALLBACKS, counts[i], expected[i]) for i, name in enumerate(names)]
    return _summed(sums, log, prior, risk.over_dispersion)


def fault_sums(log: Log) -> pl.DataFrame:
    """The same for the whole firm and each frequent fault."""
    sums, firm = [], replace(log.watch, groups=np.zeros(len(log.watch.groups), dtype=np.int64))
    for fault, calls in _by_fault(log, is_frequent=True):
        risk = door_risk(firm, _nothing(log), calls["row"].to_numpy(), calls["age"].to_numpy())
        if risk is not None:
            counts = log.counted(calls, firm.groups)[0]
            expected = expected_by_month(firm, risk, log.month_starts)[0]
            expected = expected * season_factors(counts, expected, log.month_starts)
            sums.append(_Sum(ALL, fault, counts, expected))
    if not sums:
        return pl.DataFrame(schema=SCHEMA)
    over = month_over_dispersion(np.array([one.counts for one in sums]), np.array([one.expected for one in sums]))
    return _summed(sums, log, FIRM_PRIOR, over)


def rare_gaps(log: Log) -> pl.DataFrame:
    """Time between callbacks of rare faults, on the clock of the doors at risk: a t chart of three at a time."""
    firm = replace(log.watch, groups=np.zeros(len(log.watch.groups), dtype=np.int64))
    found = []
    for fault, calls in _by_fault(log, is_frequent=False):
        risk = door_risk(firm, _nothing(log), calls["row"].to_numpy(), calls["age"].to_numpy())
        if risk is not None:
            found.append((fault, calls["day"].to_numpy(), _gaps(firm, risk, calls["day"].to_numpy(), log)))
    scored = [(fault, days, gaps, gap_scores(gaps, TOGETHER)) for fault, days, gaps in found]
    points = sum(int(np.isfinite(scores).sum()) for *_, scores in scored)
    length = run_length_for(points, log.years)
    limit = limit_for(lambda width: shewhart_run_length(width, is_two_sided=False), length, 1.0, 7.5)
    rows = [row for fault, days, gaps, scores in scored for row in _gap_rows(fault, days, gaps, scores)]
    table = _one_a_day(pl.DataFrame(rows, schema=_GAP_SCHEMA, orient="row"))
    return _finished(table, pl.lit(limit), pl.lit(length), pl.col("value") > limit)


_GAP_SCHEMA = {
    name: SCHEMA[name] for name in ("crew", "subject", "step", "chart", "at", "value", "since", "seen", "expected")
}


def _one_a_day(points: pl.DataFrame) -> pl.DataFrame:
    """Points of a fault that end on one day, as after a storm, are one: the one that stands out most.

    With the first of all among them nothing came before it to be held against, and it is not tested.
    """
    key = ("crew", "subject", "step", "chart", "at")
    return points.group_by(key, maintain_order=True).agg(
        pl.when(pl.col("value").is_not_null().all()).then(pl.col("value").max()),
        pl.col("since").min(),
        pl.col("seen", "expected").sum(),
    )


def _nothing(log: Log) -> Columns:
    return Columns((), np.zeros((log.doors.height, 0)), np.zeros(0))


def _by_fault(log: Log, is_frequent: bool) -> list[tuple[str, pl.DataFrame]]:
    first, end, months = int(log.month_starts[0]), int(log.month_starts[-1]), len(log.month_starts) - 1
    seen = log.calls.filter(pl.col("day").is_between(first, end, closed="left"))
    parts = seen.partition_by("fault", as_dict=True, maintain_order=True)
    frequent = {fault for (fault,), calls in parts.items() if calls.height >= FREQUENT * months}
    kept = [(str(fault), calls) for (fault,), calls in parts.items() if (fault in frequent) == is_frequent]
    return sorted(kept, key=lambda part: part[0])


@dataclass(frozen=True)
class _Sum:
    """Counts and expectations of one chart by month, (M,) each."""

    crew: str
    subject: str
    counts: Floats
    expected: Floats


def _summed(sums: list[_Sum], log: Log, prior: GammaPrior, over_dispersion: float) -> pl.DataFrame:
    counts = np.array([one.counts for one in sums])
    expected = np.array([one.expected for one in sums])
    scores = ratio_scores(counts, expected, RATIO, prior, over_dispersion)
    scores = np.where(np.cumsum(expected, axis=1) - expected >= LEAST_EXPECTED, scores, np.nan)
    scores[np.isfinite(scores).sum(axis=1) < LEAST_POINTS] = np.nan
    length = run_length_for(int(np.isfinite(scores).sum()), log.years)
    limits = _limits(scores, expected, length, over_dispersion)
    path, alarms, since = upward_sum(scores, limits)
    chart, month = np.nonzero(expected > 0)
    dates = pl.Series(log.month_starts.astype(np.int32)).cast(pl.Date)
    table = pl.DataFrame(
        {
            "crew": [sums[i].crew for i in chart],
            "subject": [sums[i].subject for i in chart],
            "step": pl.Series([None] * len(chart), dtype=pl.String),
            "chart": ["cusum"] * len(chart),
            "at": dates.gather(month + 1).dt.offset_by("-1d"),
            "value": pl.Series(path[chart, month]).fill_nan(None),
            "since": dates.gather(since[chart, month]),
            "seen": counts[chart, month],
            "expected": expected[chart, month],
            "limit": limits[chart],
            "is_out": alarms[chart, month],
        }
    )
    return _finished(table, pl.col("limit"), pl.lit(length), pl.col("is_out"))


def _limits(scores: Floats, expected: Floats, length: float, over_dispersion: float) -> Floats:
    """(C,) the limit of each chart at its usual month; charts that expect nearly the same share one."""
    months = np.isfinite(scores)
    usual = np.where(months, expected, 0.0).sum(axis=1) / np.maximum(months.sum(axis=1), 1)
    found: dict[float, float] = {}
    limits = np.full(len(usual), np.nan)
    for i in np.flatnonzero(usual > 0):
        near = float(np.exp(np.round(np.log(usual[i]), 1)))
        if near not in found:
            length_of = partial(count_run_length, near, RATIO, over_dispersion=over_dispersion)
            found[near] = limit_for(length_of, length, LOWEST_LIMIT, np.log(length) + 1)
        limits[i] = found[near]
    return limits


def _gaps(firm: DoorWatch, risk: DoorRisk, days: NDArray[np.int64], log: Log) -> Floats:
    """Callbacks expected between successive ones; two of one day lie half a day apart."""
    edges = log.month_starts
    clock = np.concatenate([[0.0], np.cumsum(expected_by_month(firm, risk, edges)[0])])
    at = np.interp(days, edges, clock)
    half_day = np.interp(days + 0.5, edges, clock) - at
    return np.maximum(np.diff(at), np.maximum(half_day[1:], 1e-9))


def _gap_rows(fault: str, days: NDArray[np.int64], gaps: Floats, scores: Floats) -> list[tuple[object, ...]]:
    dates = pl.Series(days.astype(np.int32)).cast(pl.Date).to_list()
    blocks = [slice(i * TOGETHER, (i + 1) * TOGETHER) for i in range(len(scores))]
    return [
        (ALL, fault, None, "rare", dates[block.stop], None if np.isnan(score) else float(score), dates[block.start],
         float(TOGETHER), float(gaps[block].sum()))
        for block, score in zip(blocks, scores, strict=True)
    ]  # fmt: skip


def _finished(table: pl.DataFrame, limit: pl.Expr, length: pl.Expr, is_out: pl.Expr) -> pl.DataFrame:
    rows = table.with_columns(
        limit.alias("limit"),
        length.alias("run_length"),
        is_out.fill_null(False).alias("is_out"),
        pl.lit(None, dtype=pl.Int64).alias("doors"),
    )
    return rows.select(list(SCHEMA)).cast(SCHEMA)

"""effect_sensitivity: what was found of causes, looked at in other ways that could be defended as well.

grain: one row per cause with p_value <= 0.05 in effects and way of looking
key: fault, deviation, what
columns:
  fault        text     part of the key
  deviation    text     part of the key
  what         text     part of the key: as reported / repeats within N days / until the first visit / without records
                        in doubt / limit: NAME
  ratio        double   contrast_ratio of effects seen in this way, for the same contrast; empty: too few
  ratio_low    double   lower end of its 95 % interval
  ratio_high   double   upper end
  doors        integer  doors at risk in it
  events       integer  first callbacks among them
  share        double   share of the fault's callbacks spared, had every door met the limit
  share_low    double   lower end of its 95 % interval
  share_high   double   upper end
  e_value      double   how many times as often something unrecorded would have to go with both to explain the ratio
  e_value_low  double   the same for the interval's near end; 1 where it holds 1
  verdict      text     holds / weaker (the interval holds 1) / turns (it lies on the other side) / too_few; empty for
                        another limit

Until the first visit: a visit may put right what was measured at the fitting, so a door is watched until any visit.
Sources: VanderWeele and Ding (2017), Ann. Intern. Med. 167, 268-274.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import polars as pl

from pipeline.model.bases import read_bases
from pipeline.model.door_matrix import door_matrix
from pipeline.model.evidence import found_causes
from pipeline.model.refit import Pair, Refit, refitted
from pipeline.model.risk import DAYS_PER_YEAR, FirstFaults, Watched, first_faults, watched_doors
from pipeline.model.spared import spared_share
from pipeline.model.study import Study, study_of
from pipeline.model.without_doubtful import doubted_doors, without_readings
from pipeline.stats.blas import one_blas_thread
from pipeline.stats.e_value import e_value, e_value_of_interval
from pipeline.stats.intervals import Floats

REPORTED = "as reported"
SCHEMA = {
    "fault": pl.String, "deviation": pl.String, "what": pl.String, "ratio": pl.Float64, "ratio_low": pl.Float64,
    "ratio_high": pl.Float64, "doors": pl.Int64, "events": pl.Int64, "share": pl.Float64, "share_low": pl.Float64,
    "share_high": pl.Float64, "e_value": pl.Float64, "e_value_low": pl.Float64, "verdict": pl.String,
}  # fmt: skip

Rows = Iterator[dict[str, Any]]


@dataclass(frozen=True)
class _Found:
    """What effects found: one row of it a pair, by pair, and the study it was found in."""

    pairs: dict[Pair, dict[str, Any]]
    study: Study

    @property
    def faults(self) -> set[str]:
        return {fault for fault, _ in self.pairs}


def build(
    effects: pl.DataFrame,
    fault_bases: pl.DataFrame,
    staged_installs: pl.DataFrame,
    door_time: pl.DataFrame,
    door_values: pl.DataFrame,
    door_limits: pl.DataFrame,
    episodes: pl.DataFrame,
    linked_callbacks: pl.DataFrame,
    staged_callbacks: pl.DataFrame,
    record_credibility: pl.DataFrame,
    limit_comparison: pl.DataFrame,
    catalogue_deviations: pl.DataFrame,
    catalogue_pairs: pl.DataFrame,
    settings: pl.DataFrame,
    evaluate: Callable[..., pl.DataFrame],
) -> pl.DataFrame:
    """Every way of looking at every cause that was found."""
    rows = {(row["fault"], row["deviation"]): row for row in found_causes(effects).iter_rows(named=True)}
    if not rows:
        return pl.DataFrame(schema=SCHEMA)
    watched = watched_doors(door_time)
    catalogue = (catalogue_deviations, catalogue_pairs)
    study = study_of(watched, staged_installs, door_values, door_limits, catalogue, settings)
    found = _Found(rows, study)
    with one_blas_thread():
        faults = _faults(watched, episodes, found.faults)
        again = refitted(study, faults, set(rows), read_bases(fault_bases, faults))
        ways = [
            _as_reported(found),
            _other_repeats(found, (faults, again), int(settings["repeat_days"][0]), evaluate),
            _until_first_visit(found, episodes, _first_visits(watched, linked_callbacks, staged_callbacks, door_time)),
            _without_doubt(found, episodes, doubted_doors(study, staged_installs, record_credibility)),
            _other_limits(found, again, limit_comparison, evaluate),
        ]
        return pl.DataFrame([row for way in ways for row in way], schema=SCHEMA).sort("fault", "deviation", "what")


def _faults(watched: Watched, episodes: pl.DataFrame, names: set[str]) -> dict[str, FirstFaults]:
    return {name: first_faults(watched, episodes, name) for name in sorted(names)}


def _as_reported(found: _Found) -> Rows:
    for pair, row in found.pairs.items():
        ratio = (row["contrast_ratio"], row["contrast_low"], row["contrast_high"])
        share = {"share": row["attributable_share"], "share_low": row["attributable_low"]}
        share["share_high"] = row["attributable_high"]
        yield _row(found, pair, REPORTED, ratio, (row["doors"], row["events"])) | share


def _other_repeats(
    found: _Found,
    reported: tuple[dict[str, FirstFaults], dict[Pair, Refit]],
    days: int,
    evaluate: Callable[..., pl.DataFrame],
) -> Rows:
    usual, again = reported
    for other in sorted({days // 2, days * 2} - {days}):
        rows = evaluate("episodes", settings=f"SELECT * REPLACE ({other} AS repeat_days) FROM settings")
        faults = _faults(found.study.watched, rows, found.faults)
        # first callbacks are mostly the same ones: only what differs is fitted again
        same = {name for name in faults if np.array_equal(faults[name].time, usual[name].time)}
        known = {pair: fit for pair, fit in again.items() if pair[0] in same}
        yield from _seen(found, f"repeats within {other} days", found.study, faults, known)


def _until_first_visit(found: _Found, episodes: pl.DataFrame, visits: Floats) -> Rows:
    watched = found.study.watched
    leave = np.maximum(np.minimum(watched.leave, visits), watched.entry)
    until = replace(watched, leave=leave)
    ends = pl.DataFrame({"install_id": watched.install_ids, "leave_days": leave * DAYS_PER_YEAR})
    before = episodes.join(ends, on="install_id").filter(pl.col("age_days") <= pl.col("leave_days") + 1e-6)
    faults = _faults(until, before, found.faults)
    yield from _seen(found, "until the first visit", replace(found.study, watched=until), faults)


def _first_visits(watched: Watched, links: pl.DataFrame, callbacks: pl.DataFrame, door_time: pl.DataFrame) -> Floats:
    """(n,) age in years at the first visit to each door since it is at risk, infinite where there was none."""
    visits = (
        callbacks.join(links.select("callback_id", "install_id"), on="callback_id")
        .join(door_time.select("install_id", "started_on", "from_on"), on="install_id")
        .filter(pl.col("visited_on") >= pl.col("from_on"))
        .group_by("install_id")
        .agg((pl.col("visited_on").min() - pl.col("started_on").first()).dt.total_days().alias("age_days"))
    )
    doors = pl.DataFrame({"install_id": watched.install_ids})
    ages = doors.join(visits, on="install_id", how="left", maintain_order="left")["age_days"].cast(pl.Float64)
    return np.asarray(ages.fill_null(np.inf).to_numpy() / DAYS_PER_YEAR)


def _without_doubt(found: _Found, episodes: pl.DataFrame, doubted: np.ndarray) -> Rows:
    if not doubted.any():
        return
    faults = _faults(found.study.watched, episodes, found.faults)
    yield from _seen(found, "without records in doubt", without_readings(found.study, doubted), faults)


def _other_limits(
    found: _Found, again: dict[Pair, Refit], limit_comparison: pl.DataFrame, evaluate: Callable[..., pl.DataFrame]
) -> Rows:
    """The share that is spared were a limit in use that is there for comparison only."""
    compared = limit_comparison.filter(pl.col("status") == "for comparison").sort("limit")
    for limit, deviation in compared.select("limit", "deviation").iter_rows():
        pairs = [pair for pair in found.pairs if pair[1] == deviation and pair in again]
        if not pairs:
            continue
        quoted = limit.replace("'", "''")
        only = f"SELECT * FROM limit_judgements WHERE \"limit\" = '{quoted}' AND status = 'for comparison'"
        door_limits = evaluate("door_limits", limit_decisions=only)
        study, place = found.study, found.study.firm.places[deviation]
        limits = door_matrix(door_limits, study.watched.install_ids, len(study.firm.places))[:, place.ordinal]
        for pair in pairs:
            design, estimate = again[pair].design, again[pair].estimate
            rng = np.random.default_rng([study.seed, place.ordinal])
            spared = spared_share(design, estimate, limits[design.rows], rng)
            counts = (found.pairs[pair]["doors"], found.pairs[pair]["events"])
            share = (spared.share, spared.low, spared.high) if spared else (None,) * 3
            row = _row(found, pair, f"limit: {limit}", None, counts) | {"verdict": None}
            yield row | dict(zip(("share", "share_low", "share_high"), share, strict=True))


def _seen(
    found: _Found, what: str, study: Study, faults: dict[str, FirstFaults], known: dict[Pair, Refit] | None = None
) -> Rows:
    known = known or {}
    again = known | refitted(study, faults, set(found.pairs) - set(known))
    for pair, row in found.pairs.items():
        fit = again.get(pair)
        recorded = study.firm.is_studied(study.firm.places[pair[1]])
        counts = (int(recorded.sum()), int(faults[pair[0]].events[recorded].sum()))
        ratio = fit.ratio(row["contrast_from"], row["contrast_to"]) if fit else None
        yield _row(found, pair, what, ratio, counts)


def _row(
    found: _Found, pair: Pair, what: str, ratio: tuple[float, float, float] | None, counts: tuple[int, int]
) -> dict[str, Any]:
    row: dict[str, Any] = dict.fromkeys(SCHEMA)
    row |= {"fault": pair[0], "deviation": pair[1], "what": what, "doors": counts[0], "events": counts[1]}
    if ratio is None:
        return row | {"verdict": "too_few"}
    middle, low, high = ratio
    share_with_event = counts[1] / max(counts[0], 1)
    return row | {
        "ratio": middle, "ratio_low": low, "ratio_high": high,
        "e_value": e_value(middle, share_with_event), "e_value_low": e_value_of_interval(low, high, share_with_event),
        "verdict": _verdict(found.pairs[pair]["contrast_ratio"], ratio),
    }  # fmt: skip


def _verdict(reported: float, seen: tuple[float, float, float]) -> str:
    _, low, high = seen
    if low <= 1 <= high:
        return "weaker"
    return "holds" if (low > 1) == (reported > 1) else "turns"

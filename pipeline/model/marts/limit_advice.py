"""limit_advice: whether the limit of a measured deviation should be kept, tightened or loosened, fault by fault.

grain: one row per fault seen and measured cause or variant recorded
key: fault, deviation
left out: checks, which are passed or failed and have no limit to move
columns:
  fault             text     part of the key
  deviation         text     part of the key
  limit_now         double   governing limit that most doors with a reading have, their median where no quarter of them
                             shares one, empty where most have none; distance from the middle if worse = both
  limit_risk_1_5    double   value with 1.5 times the risk of `reference`; empty: not reached within the data, or
                             the pair has no curve in dose_response
  limit_low         double   lower end of its 95 % interval; empty: not within the data
  limit_high        double   upper end; empty: not within the data
  limit_cost        double   limit that costs least, rework against callbacks of all faults with strong evidence;
                             empty: costs not known, no strong evidence, or putting right never pays
  limit_cost_low    double   lower end of its 95 % interval, the cost of one callback and of one rework taken as known
  limit_cost_high   double   upper end; empty: putting right may never pay
  advice            text     keep / tighten / loosen / too_few
  note              text     why
  evidence          text     as in effects
  reference         double   value whose risk counts as 1: the better end, 10th percentile of the doors
  data_end          double   the worse end of what the doors show (97.5th percentile); nothing is said beyond it
  limits_in_use     integer  different governing limits among doors with a reading
  limit_share       double   share of doors with a reading that have limit_now
  share_beyond      double   share of doors with a reading that lie beyond limit_risk_1_5, to half a step of the grid
  rework_cost       double   money taken for putting one door right before handover; empty: that or the cost of
                             callbacks is not known
  is_usual_rework   boolean  rework_cost is made of usual hours (common practice, no source), not the firm's own figure
  unit              text     unit of the deviation

Tighten or loosen is only said on strong evidence, where the whole interval of limit_risk_1_5 lies on one side of the
limits of nine doors in ten. Loosen also needs a limit that lets through more than the better doors show, and that no
other fault with evidence speaks against it. Limits defer to the product's own instructions, local codes and licensed
practice.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
import polars as pl

from pipeline.model.adjusters import Place, places
from pipeline.model.door_matrix import door_matrix
from pipeline.model.evidence import SHOWN
from pipeline.model.limit_cost import cheapest_limit, rework_cost
from pipeline.model.limit_place import UsualLimit, low_and_high, risk_place, share_beyond, towards_worse, usual_limit
from pipeline.model.limit_verdict import objects_to_loosening, verdict
from pipeline.model.risk import watched_doors
from pipeline.model.study import bands_of
from pipeline.model.yearly import first_day, yearly_faults
from pipeline.stats.curves import Crossing

SCHEMA = {
    "fault": pl.String, "deviation": pl.String, "limit_now": pl.Float64, "limit_risk_1_5": pl.Float64,
    "limit_low": pl.Float64, "limit_high": pl.Float64, "limit_cost": pl.Float64, "limit_cost_low": pl.Float64,
    "limit_cost_high": pl.Float64, "advice": pl.String, "note": pl.String, "evidence": pl.String,
    "reference": pl.Float64, "data_end": pl.Float64, "limits_in_use": pl.Int64, "limit_share": pl.Float64,
    "share_beyond": pl.Float64, "rework_cost": pl.Float64, "is_usual_rework": pl.Boolean, "unit": pl.String,
}  # fmt: skip
Row = dict[str, Any]


def build(
    effects: pl.DataFrame,
    dose_fits: pl.DataFrame,
    door_time: pl.DataFrame,
    door_values: pl.DataFrame,
    door_limits: pl.DataFrame,
    episodes: pl.DataFrame,
    staged_callbacks: pl.DataFrame,
    catalogue_deviations: pl.DataFrame,
    settings: pl.DataFrame,
) -> pl.DataFrame:
    """One row per pair of a measured deviation."""
    everything = places(catalogue_deviations)
    by_name = {name: place for name, place in everything.items() if not place.is_check}
    pairs = effects.filter(pl.col("deviation").is_in(list(by_name)))
    if pairs.is_empty():
        return pl.DataFrame(schema=SCHEMA)
    limits = _usual_limits(door_time, door_values, door_limits, everything)
    costs = yearly_faults(episodes, staged_callbacks, settings["as_of"][0], first_day(door_time))
    each = dict(costs.select("fault", "cost_each").iter_rows())
    fits = {(row["fault"], row["deviation"]): row for row in dose_fits.iter_rows(named=True)}
    rows: list[Row] = []
    for (name,), part in pairs.group_by("deviation", maintain_order=True):
        place = by_name[str(name)]
        own = {fault: fits[fault, name] for fault in part["fault"] if (fault, name) in fits}
        fitted = {fault: (row, risk_place(row, place)) for fault, row in own.items()}
        evidence = dict(part.select("fault", "evidence").iter_rows())
        deviation = _Deviation(place, limits[place.name], fitted, evidence)
        rows += _rows(deviation, part.to_dicts(), each, settings.row(0, named=True))
    return pl.DataFrame(rows, schema=SCHEMA, infer_schema_length=None)


def _usual_limits(
    door_time: pl.DataFrame, door_values: pl.DataFrame, door_limits: pl.DataFrame, by_name: dict[str, Place]
) -> dict[str, UsualLimit]:
    watched = watched_doors(door_time)
    limits = bands_of(watched, door_limits, by_name).limits
    is_read = np.isfinite(door_matrix(door_values, watched.install_ids, len(by_name)))
    return {name: usual_limit(limits[is_read[:, place.ordinal], place.ordinal]) for name, place in by_name.items()}


@dataclass(frozen=True)
class _Deviation:
    """One deviation. fitted: by fault, the row of dose_fits and where its risk is reached; evidence by fault."""

    place: Place
    usual: UsualLimit
    fitted: dict[str, tuple[Row, Crossing]]
    evidence: dict[str, str]


def _rows(of: _Deviation, effects: list[Row], each: dict[str, float], settings: Row) -> list[Row]:
    """The rows of one deviation. each: money a callback, by fault."""
    against = {
        fault
        for fault, (_, found) in of.fitted.items()
        if of.evidence[fault] in SHOWN and objects_to_loosening(found, of.usual, of.place)
    }
    cost = _cost(of, each, settings)
    rows = []
    for effect in effects:
        fault = effect["fault"]
        fitted = of.fitted.get(fault)
        advice, note = verdict(effect, fitted, of.usual, of.place, against - {fault})
        row = {"fault": fault, "deviation": of.place.name, "unit": of.place.unit, "evidence": effect["evidence"]}
        row |= {"advice": advice, "note": note, **_limit(of.usual), **(_curve(fitted, of.place) if fitted else {})}
        rows.append(row | (cost if fitted and effect["evidence"] == "strong" else {}))
    return rows


def _cost(of: _Deviation, each: dict[str, float], settings: Row) -> Row:
    """The cheapest limit and what it was weighed with; nothing where a cost is not known."""
    put_right = rework_cost(of.place, settings["rework_cost"], settings["labour_rate"])
    strong = [(row, each.get(fault)) for fault, (row, _) in of.fitted.items() if of.evidence[fault] == "strong"]
    priced = [(row, cost) for row, cost in strong if cost is not None]
    if not priced or put_right is None:
        return {}
    rng = np.random.default_rng([int(settings["seed"] or 0), of.place.ordinal])
    cheap = cheapest_limit(priced, of.place, put_right, rng)
    return {
        "limit_cost": cheap.value,
        "limit_cost_low": cheap.low,
        "limit_cost_high": cheap.high,
        "rework_cost": put_right,
        "is_usual_rework": settings["rework_cost"] is None,
    }


def _limit(usual: UsualLimit) -> Row:
    return {"limit_now": usual.value, "limits_in_use": usual.n_limits, "limit_share": usual.share}


def _curve(fitted: tuple[Row, Crossing], place: Place) -> Row:
    fit, found = fitted
    low, high = low_and_high(found, place)
    return {
        "limit_risk_1_5": found.best,
        "limit_low": low,
        "limit_high": high,
        "reference": fit["reference"],
        "data_end": fit["grid"][int(towards_worse(fit, place)[-1])],
        "share_beyond": share_beyond(fit, found.best, place),
    }

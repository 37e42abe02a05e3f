"""signals: every chart point out of control, with what it means in one sentence.

grain: one row per chart point out of control
key: crew, subject, chart, at
left out: points within their limit; signal_points has them all, signal_charts says how many charts are watched
columns:
  crew        text     part of the key; `all` is the firm
  subject     text     part of the key; a deviation, a step, callbacks or a fault
  chart       text     part of the key; individuals, ewma, cusum or rare
  at          date     part of the key; last day of the point
  value       double   where the point lies, see signal_points
  limit       double   the limit that it lies above
  meaning     text     since when, what, by how much, of how many doors or callbacks, what to look at
  what        text     the first part of meaning: since when whose doors are worse in what
  how_much    text     its numbers
  act         text     what to look at
  step        text     step of the work; empty for callbacks
  since       date     likeliest first day of the rise; the words say about
  deviation   text     the deviation that rose most; empty for callbacks
  doors       integer  doors fitted since then with it recorded; empty for callbacks
  now         double   mean since then, in the deviation's unit (checks: share failed); callbacks: how many came
  before      double   mean before then; callbacks: how many were expected
  run_length  double   points of this chart until a false alarm, on average
"""

from typing import Any

import polars as pl

from pipeline.model.adjusters import Place, places
from pipeline.model.door_matrix import door_matrix
from pipeline.model.signal_rises import Measured, greatest_rise, measured_doors
from pipeline.model.signal_words import More, Said, more_says, rise_says
from pipeline.stats.intervals import share_interval

SCHEMA = {
    "crew": pl.String, "subject": pl.String, "chart": pl.String, "at": pl.Date, "value": pl.Float64,
    "limit": pl.Float64, "meaning": pl.String, "what": pl.String,
    "how_much": pl.String, "act": pl.String, "step": pl.String, "since": pl.Date, "deviation": pl.String,
    "doors": pl.Int64, "now": pl.Float64, "before": pl.Float64, "run_length": pl.Float64,
}  # fmt: skip


def build(
    signal_points: pl.DataFrame,
    staged_installs: pl.DataFrame,
    door_values: pl.DataFrame,
    catalogue_deviations: pl.DataFrame,
    catalogue_faults: pl.DataFrame,
) -> pl.DataFrame:
    """One row per point out of control."""
    out = signal_points.filter(pl.col("is_out")).sort("chart", "crew", "subject", "at")
    by_name = places(catalogue_deviations)
    matrix = door_matrix(door_values, staged_installs["install_id"], catalogue_deviations.height)
    doors = measured_doors(staged_installs, matrix, catalogue_deviations)
    words = dict(catalogue_faults.select("name", "words").iter_rows())
    rows = [
        _of_work(point, doors, by_name) if point["chart"] in ("individuals", "ewma") else _of_callbacks(
            point, signal_points, words
        )
        for point in out.iter_rows(named=True)
    ]  # fmt: skip
    return pl.DataFrame(rows, schema=SCHEMA)


def _of_work(point: dict[str, Any], doors: Measured, by_name: dict[str, Place]) -> dict[str, Any]:
    is_whole_step = point["chart"] == "ewma"
    among = [place for place in by_name.values() if place.role == "cause" and place.step == point["step"]]
    chosen = among if is_whole_step else [by_name[point["subject"]]]
    rise = greatest_rise(doors, point["crew"], point["since"], point["at"], chosen)
    if rise is None:
        said = Said(f"The {point['step']} step is worse than before", "too few doors since then", "look at it")
        return _row(point, said)
    said = rise_says(point["crew"], point["since"], rise, point["step"], is_whole_step)
    return _row(point, said) | {
        "deviation": rise.deviation, "doors": rise.doors, "now": rise.now, "before": rise.before,
    }  # fmt: skip


def _of_callbacks(point: dict[str, Any], points: pl.DataFrame, words: dict[str, str]) -> dict[str, Any]:
    own = points.filter(*(pl.col(name) == point[name] for name in ("crew", "subject", "chart")))
    own = own.filter(pl.col("at") <= point["at"])
    # a rare point begins on the day on which the one before it ends
    is_now = pl.col("at") == point["at"] if point["chart"] == "rare" else pl.col("at") >= point["since"]
    (seen, due), (seen_before, due_before) = (_sums(own.filter(is_now)), _sums(own.filter(~is_now)))
    seen_before = max(seen_before, 0.5)  # none before must not make it infinitely many times as many
    expected = due * seen_before / due_before
    shares = share_interval(seen, seen + seen_before)
    low, high = (float(end / (1 - end)) * due_before / due for end in (shares.low, shares.high))
    name = words.get(point["subject"]) or point["subject"].replace("_", " ")
    more = More("" if point["subject"] == "callbacks" else name, seen, expected, low, high)
    return _row(point, more_says(point["crew"], point["since"], more)) | {"now": seen, "before": expected}


def _sums(points: pl.DataFrame) -> tuple[float, float]:
    return float(points["seen"].sum()), float(points["expected"].sum())


def _row(point: dict[str, Any], said: Said) -> dict[str, Any]:
    told = {"meaning": said.meaning, "what": said.what, "how_much": said.how_much, "act": said.act}
    kept = ("crew", "subject", "chart", "at", "value", "limit", "step", "since", "run_length")
    return dict.fromkeys(SCHEMA) | {name: point[name] for name in kept} | told

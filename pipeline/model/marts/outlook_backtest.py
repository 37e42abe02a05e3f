"""outlook_backtest: what the outlook would have said in the past, from what was on paper then, and what came.

Every quarter of a year back from a year before the records' last whole month. The outlook is made anew from the doors
out and the callbacks written down by then; as its plan stand the doors that were really handed over afterwards. Links
and faults are as known now.

grain: one row per day looked back to; no row where the log is too short
key: made_on
columns:
  made_on         date     the day that is looked back to
  until_on        date     end of the twelve months foretold
  callbacks_then  integer  callbacks on paper on that day
  callbacks       double   callbacks foretold for the twelve months
  callbacks_low   double   lower end of the 95 % interval
  callbacks_high  double   upper end
  seen            integer  callbacks reported in these twelve months, as far as on paper now
  came            double   the same, corrected for paper that has not arrived
  is_inside       boolean  came lies in the interval
"""

from datetime import date

import numpy as np
import polars as pl

from pipeline.model.ahead import look_ahead
from pipeline.model.days import day_of
from pipeline.model.late_paper import on_paper
from pipeline.model.month_grid import MONTHS_AHEAD
from pipeline.model.standing import NEVER, Standing, standing_on

MOST_ORIGINS, EVERY_MONTHS = 5, 3
SCHEMA = {
    "made_on": pl.Date, "until_on": pl.Date, "callbacks_then": pl.Int64, "callbacks": pl.Float64,
    "callbacks_low": pl.Float64, "callbacks_high": pl.Float64, "seen": pl.Int64, "came": pl.Float64,
    "is_inside": pl.Boolean,
}  # fmt: skip


def build(callback_days: pl.DataFrame, door_spans: pl.DataFrame, settings: pl.DataFrame) -> pl.DataFrame:
    """One row per day that had enough on paper, the latest first."""
    as_of = settings["as_of"][0]
    now = standing_on(as_of, callback_days, (door_spans, door_spans.clear()), settings)
    rows = []
    for origin in _origins(as_of) if now is not None else []:
        then = standing_on(
            origin, on_paper(callback_days, origin), (door_spans, _came_later(door_spans, origin)), settings
        )
        if now is None or then is None or not then.is_enough:
            break
        rows.append(_row(origin, then, now, settings["seed"][0]))
    return pl.DataFrame(rows, schema=SCHEMA)


def _origins(as_of: date) -> list[date]:
    """Ends of months: twelve months, fifteen and so on before the last month that is over."""
    is_over = date.fromordinal(as_of.toordinal() + 1).day == 1
    whole = as_of.year * 12 + as_of.month - 1 + is_over
    firsts = [whole - MONTHS_AHEAD - EVERY_MONTHS * step for step in range(MOST_ORIGINS)]
    return [date.fromordinal(date(first // 12, first % 12 + 1, 1).toordinal() - 1) for first in firsts]


def _came_later(spans: pl.DataFrame, origin: date) -> pl.DataFrame:
    return spans.filter(pl.col("started_on") > origin).with_columns(pl.lit(NEVER).alias("removed_on"))


def _row(origin: date, then: Standing, now: Standing, seed: int) -> dict[str, object]:
    ahead = look_ahead(then, seed)
    first = int(np.searchsorted(now.grid.starts, then.grid.starts[then.grid.n_past]))
    months = slice(first, first + MONTHS_AHEAD)
    seen, came = now.reported[months], now.reported[months] / np.maximum(now.arrived[months], 1e-9)
    low, high = (float(bound) for bound in ahead.bounds[-1])
    return {
        "made_on": origin,
        "until_on": day_of(then.grid.starts[-1] - 1),
        "callbacks_then": int(then.reported.sum()),
        "callbacks": float(ahead.callbacks[-1]),
        "callbacks_low": low,
        "callbacks_high": high,
        "seen": int(seen.sum()),
        "came": float(came.sum()),
        "is_inside": bool(low <= round(float(came.sum())) <= high),
    }

"""year_change: whether callbacks came more or less often in the last twelve months than in the twelve before.

Whole calendar months, the last one that has ended being the last; doors are compared with doors of the same age, so
that a firm whose doors grow older is not told that it works better. Callbacks on known doors while watched, whoever
answers for them; months whose paper is still on its way count by the part of it that has arrived. The interval allows
for doors that call several times and for months that differ beyond chance; the same months stand on both sides, so
seasons do not enter.

grain: one row per firm whose log covers two whole years
key: last_month
columns:
  last_month         text     YYYY-MM, the last of the twelve
  callbacks          integer  in the twelve months
  callbacks_before   integer  in the twelve before
  door_years         double   years at risk in the twelve months, as far as their paper has arrived
  door_years_before  double   in the twelve before
  ratio              double   how many times as often, at the same ages; empty: too few to tell
  ratio_low          double   lower end of its 95 % interval
  ratio_high         double   upper end
  is_corrected       boolean  it is known how late paper comes, and allowed for

Source of the method: pipeline/stats/stratified_ratio.py.
"""

import numpy as np
import polars as pl
from scipy import stats

from pipeline.model.standing import Standing, standing_on
from pipeline.stats.intervals import Floats
from pipeline.stats.stratified_ratio import null_error, stratified_ratio

YEAR = 12
MOST_ERROR = 0.5  # of the log ratio were there no change: as for the effects
STUDENT = float(stats.t.ppf(0.975, YEAR - 1) / stats.norm.ppf(0.975)) ** 2
SCHEMA = {
    "last_month": pl.String, "callbacks": pl.Int64, "callbacks_before": pl.Int64, "door_years": pl.Float64,
    "door_years_before": pl.Float64, "ratio": pl.Float64, "ratio_low": pl.Float64, "ratio_high": pl.Float64,
    "is_corrected": pl.Boolean,
}  # fmt: skip


def build(callback_days: pl.DataFrame, door_spans: pl.DataFrame, settings: pl.DataFrame) -> pl.DataFrame:
    """One row, or none."""
    standing = standing_on(settings["as_of"][0], callback_days, (door_spans, door_spans.clear()), settings)
    return pl.DataFrame(_rows(standing) if standing else None, schema=SCHEMA, orient="row")


def _rows(standing: Standing) -> list[tuple[object, ...]]:
    ends = _ends_after(standing)
    if ends is None:
        return []
    years = (slice(ends - 2 * YEAR, ends - YEAR), slice(ends - YEAR, ends))
    events, exposure = (
        np.stack([part[:, year] for year in years]) for part in (standing.seen.events, standing.seen.exposure)
    )
    told = _told(events, exposure, standing.seen.clumping) or (None, None, None)
    came, time = events.sum(axis=(1, 2)), exposure.sum(axis=(1, 2))
    last_month = standing.grid.names()[ends - 1]
    return [(last_month, int(came[1]), int(came[0]), time[1], time[0], *told, standing.delays.is_known)]


def _ends_after(standing: Standing) -> int | None:
    """How many months seen have ended; None where the last 24 of them are not all watched."""
    last_days = standing.grid.starts[1:] - 1
    ended = int((last_days <= standing.grid.on).sum())
    if ended < 2 * YEAR:
        return None
    return ended if (standing.seen.exposure.sum(axis=0)[ended - 2 * YEAR : ended] > 0).all() else None


def _told(events: Floats, exposure: Floats, clumping: float) -> tuple[float, float, float] | None:
    """The ratio of the last year to the one before with its interval; None where there are too few callbacks.

    events, exposure  (2, K, 12) of the year before and the last one, by age and month
    """
    between = _between_months(events, exposure)
    # what is estimated from eleven differences is itself not sure: Student's quantile in place of the normal one
    dispersion = max(clumping, between * STUDENT if between > 1 else 1.0)
    by_age = events.sum(axis=2), exposure.sum(axis=2)
    if null_error(*by_age, dispersion) > MOST_ERROR:
        return None
    return stratified_ratio(*by_age, dispersion)


def _between_months(events: Floats, exposure: Floats) -> float:
    """How much more the months differ from one year to the next than chance would have them; 1 or more.

    Of what came in a month of both years the last one's part is compared with what its time and the year bring.
    """
    rates = events.sum(axis=(0, 2)) / np.maximum(exposure.sum(axis=(0, 2)), 1e-12)  # (K,)
    usual = np.einsum("k,ykm->ym", rates, exposure)
    year = events.sum(axis=(1, 2)) / np.maximum(usual.sum(axis=1), 1e-12)
    expected, came = usual * year[:, None], events.sum(axis=1)
    both = came.sum(axis=0)
    known = (expected > 0).all(axis=0) & (both > 0)
    part, both = expected[1, known] / expected[:, known].sum(axis=0), both[known]
    squares = (came[1, known] - both * part) ** 2 / (both * part * (1 - part))
    degrees = len(squares) - 1
    return max(float(squares.sum()) / degrees, 1.0) if degrees > 0 else 1.0

"""Which deviation of a crew's doors rose most since a day, with what it was before and at the other crews."""

from dataclasses import dataclass
from datetime import date

import numpy as np
import polars as pl

from pipeline.model.adjusters import Place
from pipeline.model.chart_points import ALL
from pipeline.model.signal_words import Rise
from pipeline.stats.intervals import Z95, Floats, share_interval

LEAST_DOORS = 3


@dataclass(frozen=True)
class Measured:
    """Doors with their deviations: crew and day (n,), values (n, D); acts: what to do by deviation."""

    crew: np.ndarray
    day: np.ndarray
    values: Floats
    acts: dict[str, str]


def measured_doors(installs: pl.DataFrame, matrix: Floats, catalogue: pl.DataFrame) -> Measured:
    """The doors in the order of installs, which is the order of the matrix's rows."""
    days = installs["fitted_on"].to_numpy().astype("datetime64[D]")
    return Measured(installs["crew"].to_numpy(), days, matrix, dict(catalogue.select("name", "do").iter_rows()))


def greatest_rise(doors: Measured, crew: str, since: date, until: date, among: list[Place]) -> Rise | None:
    """The deviation whose mean rose most towards the worse, in standard errors; None where too few are recorded."""
    is_own = np.ones(len(doors.crew), dtype=bool) if crew == ALL else doors.crew == crew
    is_now = (doors.day >= np.datetime64(since)) & (doors.day <= np.datetime64(until))
    spans = is_own & is_now, is_own & (doors.day < np.datetime64(since)), ~is_own & is_now
    rises = [_rise(doors, place, spans) for place in among]
    found = [rise for rise in rises if rise is not None]
    return max(found, key=lambda pair: pair[0])[1] if found else None


def _rise(doors: Measured, place: Place, spans: tuple[np.ndarray, ...]) -> tuple[float, Rise] | None:
    column = doors.values[:, place.ordinal]
    now, before, others = (column[span & np.isfinite(column)] for span in spans)
    if len(now) < LEAST_DOORS or len(before) < LEAST_DOORS:
        return None
    if place.is_check:
        now, before, others = ((part > 0).astype(float) for part in (now, before, others))
    both = np.concatenate([now, before])
    error = max(float(both.std()), 1e-9) * np.sqrt(1 / len(now) + 1 / len(before))
    low, high = _ends(now, place.is_check)
    firm = float(others.mean()) if len(others) >= LEAST_DOORS else None
    rise = Rise(
        place.name, place.words or place.name.replace("_", " "), doors.acts.get(place.name) or "", place.unit,
        place.is_check, len(now), len(before), float(now.mean()), low, high, float(before.mean()), firm,
    )  # fmt: skip
    return place.sign * (rise.now - rise.before) / error, rise


def _ends(values: Floats, is_check: bool) -> tuple[float, float]:
    if is_check:
        interval = share_interval(values.sum(), len(values))
        return float(interval.low), float(interval.high)
    reach = Z95 * float(values.std(ddof=1)) / np.sqrt(len(values))
    return float(values.mean() - reach), float(values.mean() + reach)

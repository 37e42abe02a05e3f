"""Where a curve of risk says that a limit belongs, and the limit in use beside it."""

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from pipeline.model.adjusters import Place
from pipeline.stats.curves import Crossing, FittedCurve, crossing
from pipeline.stats.intervals import Floats

RISK = 1.5  # times the risk at the better end
SHARED_LIMIT = 0.25  # a limit that fewer doors share is not the firm's usual one: then the median stands for all
HAVE_ONE = 0.5  # where no more doors than this have any limit, none governs
INNER = (0.1, 0.9)


@dataclass(frozen=True)
class UsualLimit:
    """The governing limits of the doors with a reading.

    value: the one that most have, the median where they are many, None where most doors have none; share of the
    doors with value; n_limits in use; low, high: nine doors in ten have a limit no lower and no higher
    """

    value: float | None
    share: float | None
    n_limits: int
    low: float
    high: float


def towards_worse(row: dict[str, Any], place: Place) -> np.ndarray:
    """Numbers of the grid values of a row of dose_fits, from the reference to the worse end."""
    reference = row["grid"].index(row["reference"])
    size = len(row["grid"])
    return np.arange(reference, -1, -1) if place.is_lower_worse else np.arange(reference, size)


def risk_place(row: dict[str, Any], place: Place) -> Crossing:
    """Where the curve of a row of dose_fits reaches RISK, going from the better end to the worse."""
    order = towards_worse(row, place)
    curve = fitted_curve(row)
    ordered = replace(curve, contrasts=curve.contrasts[order])
    return crossing(np.array(row["grid"])[order], ordered, float(np.log(RISK)))


def low_and_high(found: Crossing, place: Place) -> tuple[float | None, float | None]:
    """The lower and the upper end of a crossing's interval as numbers."""
    return (found.latest, found.soonest) if place.is_lower_worse else (found.soonest, found.latest)


def share_beyond(row: dict[str, Any], value: float | None, place: Place) -> float | None:
    """Share of the doors of a row of dose_fits that lie on the worse side of the value; None without a value."""
    if value is None:
        return None
    grid, doors = np.array(row["grid"]), np.array(row["doors_with_ends"])
    is_beyond = grid < value if place.is_lower_worse else grid > value
    return float(doors[is_beyond].sum() / doors.sum())


def fitted_curve(row: dict[str, Any]) -> FittedCurve:
    """The curve that a row of dose_fits keeps."""
    p = len(row["coefficients"])
    crews = row["crew_covariance"]
    return FittedCurve(
        np.array(row["contrasts"]).reshape(-1, p),
        np.array(row["coefficients"]),
        np.array(row["covariance"]).reshape(p, p),
        np.array(crews).reshape(p, p) if crews else None,
    )


def usual_limit(limits: Floats) -> UsualLimit:
    """limits: (m,) the governing limit of each door with a reading, nan where it has none."""
    known = limits[np.isfinite(limits)]
    if len(known) <= HAVE_ONE * len(limits):
        return UsualLimit(None, None, 0, np.nan, np.nan)
    values, counts = np.unique(np.round(known, 6), return_counts=True)
    most = int(np.argmax(counts))
    is_shared = counts[most] >= SHARED_LIMIT * len(known)
    value = float(values[most]) if is_shared else float(np.quantile(known, 0.5, method="nearest"))
    low, high = np.quantile(known, INNER)
    return UsualLimit(value, float((known == value).sum() / len(limits)), len(values), float(low), float(high))

"""The design of one deviation's effect: itself, its crew mean, the door, and what came before it."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pipeline.model.adjusters import Place, adjusters_of
from pipeline.model.covariates import Columns, standardised
from pipeline.stats.intervals import Floats

ADJUSTER_PRECISION = 1 / 0.35**2  # other deviations: normal prior, sd 0.35 on the log hazard per standard deviation
CREW_MEAN_PRECISION = 1.0
LEAST_RECORDED = 0.05  # an adjuster recorded on fewer doors than this says nothing about the others
STUDIED, CREW_MEAN = 0, 1  # columns of every pair's design


@dataclass(frozen=True)
class Firm:
    """All doors ever at risk, sorted by crew.

    groups (n,) crew numbers; covariates: the door; values (n, D), nan where not recorded; places by name
    """

    groups: NDArray[np.int64]
    covariates: Columns
    values: Floats
    places: dict[str, Place]


@dataclass(frozen=True)
class PairDesign:
    """The doors where one deviation is recorded, and the columns of its effect.

    rows      (m,) row numbers in the firm
    names     (p,) column names; column 0 is the deviation, column 1 its crew mean, both in standard deviations
    matrix    (m, p); precision (p,) prior precisions; groups (m,) renumbered 0..; crews: the firm's crew numbers
    spread    standard deviation of the deviation over these doors, in its unit
    contrast  (low, high) values that evidence is judged on: 10th to 90th percentile; passed to failed for a check
    """

    place: Place
    rows: NDArray[np.int64]
    names: tuple[str, ...]
    matrix: Floats
    precision: Floats
    groups: NDArray[np.int64]
    crews: NDArray[np.int64]
    values: Floats
    spread: float
    contrast: tuple[float, float]

    @property
    def contrast_in_spreads(self) -> float:
        """The contrast in standard deviations."""
        return (self.contrast[1] - self.contrast[0]) / self.spread


def adjuster_columns(firm: Firm) -> dict[str, Columns]:
    """Columns of every cause that can adjust: its standardised value, and where it is missing at times a mark."""
    columns = {}
    for place in firm.places.values():
        values = firm.values[:, place.ordinal]
        if place.role == "cause" and np.isfinite(values).mean() >= LEAST_RECORDED:
            scaled, missing = standardised(values)
            columns[place.name] = _adjuster(place.name, scaled, missing)
    return columns


def pair_design(firm: Firm, place: Place, adjusters: dict[str, Columns]) -> PairDesign | None:
    """The design for `place`, or None where it is recorded nowhere or never varies."""
    values = firm.values[:, place.ordinal]
    rows = np.flatnonzero(np.isfinite(values))
    if len(rows) == 0 or not np.ptp(values[rows]) > 0:
        return None
    crews, groups = np.unique(firm.groups[rows], return_inverse=True)
    spread = float(values[rows].std())
    scaled = (values[rows] - values[rows].mean()) / spread
    means = np.bincount(groups, scaled) / np.bincount(groups)
    others = [adjusters[name] for name in adjusters_of(place, firm.places) if name in adjusters]
    parts = _without_repeats([firm.covariates, *others], rows)
    return PairDesign(
        place=place,
        rows=rows,
        names=(place.name, f"{place.name} of the crew", *parts.names),
        matrix=np.column_stack([scaled, means[groups], parts.matrix]),
        precision=np.concatenate([[0.0, CREW_MEAN_PRECISION], parts.precision]),
        groups=groups.astype(np.int64),
        crews=crews,
        values=values[rows],
        spread=spread,
        contrast=_contrast(values[rows], place),
    )


def _adjuster(name: str, scaled: Floats, missing: Floats) -> Columns:
    names, parts = [name], [scaled]
    if 0 < missing.mean() < 1:
        names.append(f"{name} (not recorded)")
        parts.append((missing - missing.mean()) / missing.std())
    return Columns(tuple(names), np.column_stack(parts), np.full(len(names), ADJUSTER_PRECISION))


def _without_repeats(parts: list[Columns], rows: NDArray[np.int64]) -> Columns:
    """The columns side by side, those left out that are constant or that repeat an earlier one on these rows."""
    names = np.array([name for part in parts for name in part.names])
    matrix = np.column_stack([part.matrix[rows] for part in parts])
    precision = np.concatenate([part.precision for part in parts])
    # deviations of one measure are missing together: one indicator is enough
    seen: dict[bytes, int] = {}
    for column in range(matrix.shape[1]):
        if np.ptp(matrix[:, column]) > 0:
            seen.setdefault(matrix[:, column].round(9).tobytes(), column)
    kept = np.array(sorted(seen.values()), dtype=int)
    return Columns(tuple(str(name) for name in names[kept]), matrix[:, kept], precision[kept])


def _contrast(values: Floats, place: Place) -> tuple[float, float]:
    if place.is_check:
        return 0.0, 1.0
    low, high = np.quantile(values, [0.1, 0.9])
    if high > low:
        return float(low), float(high)
    # nearly all doors share one value (no shortfall, no tilt): from it to the mean of the others, on the worse side
    others = values[values != low]
    return float(low), float(others.mean())

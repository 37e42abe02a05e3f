"""The design of one deviation's effect: itself, its crew mean, the door, and what came before it."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from pipeline.model.adjusters import Place, adjusters_of
from pipeline.model.covariates import Columns, standardised
from pipeline.stats.intervals import Floats

ADJUSTER_PRECISION = 1 / 0.35**2  # other deviations: normal prior, sd 0.35 on the log hazard per standard deviation
_OWN_PRECISION = np.array([0.0, 1.0])  # of the deviation itself, none; of its crew mean
LEAST_RECORDED = 0.05  # an adjuster recorded on fewer doors than this says nothing about the others
STUDIED, CREW_MEAN = 0, 1  # columns of every pair's design


@dataclass(frozen=True)
class Firm:
    """All doors ever at risk, sorted by crew.

    groups (n,) crew numbers; covariates: the door; values (n, D), nan where not recorded; places by name
    far  by ordinal of a deviation, the rows (ascending) whose value lies far beyond all others and was pulled in, and
         what was read there
    """

    groups: NDArray[np.int64]
    covariates: Columns
    values: Floats
    places: dict[str, Place]
    far: Mapping[int, tuple[NDArray[np.int64], Floats]] = field(default_factory=dict)

    def as_read(self, rows: NDArray[np.int64]) -> Floats:
        """(m, D) values of rows (m,) with what was pulled in as it was read."""
        values = self.values[rows]
        for ordinal, (far, read) in self.far.items():
            is_far = np.isin(rows, far)
            values[is_far, ordinal] = read[np.searchsorted(far, rows[is_far])]
        return values

    def is_studied(self, place: Place) -> NDArray[np.bool_]:
        """(n,) doors that its effect is learned from: it is recorded, and not far beyond all others."""
        recorded = np.isfinite(self.values[:, place.ordinal])
        if place.ordinal in self.far:
            recorded[self.far[place.ordinal][0]] = False
        return recorded

    def is_told(self, place: Place) -> bool:
        """Recorded on enough doors to stand for all, and not the same on all of these."""
        values = self.values[:, place.ordinal]
        seen = values[np.isfinite(values)]
        return len(seen) > 0 and bool(len(seen) >= LEAST_RECORDED * len(values) and np.ptp(seen) > 0)


@dataclass(frozen=True)
class PairDesign:
    """The doors where one deviation is recorded, and the columns of its effect.

    rows      (m,) row numbers in the firm
    names     (p,) column names; column 0 is the deviation, column 1 its crew mean, both in standard deviations
    matrix    (m, p); precision (p,) prior precisions; groups (m,) renumbered 0..; crews: the firm's crew numbers
    spread    standard deviation of the deviation over these doors, in its unit
    contrast  (low, high) values that evidence is judged on: 10th to 90th percentile; for a check from passed to what
              doors that failed it show
    words     plain words of every deviation, by name
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
    words: dict[str, str]

    @property
    def contrast_in_spreads(self) -> float:
        """The contrast in standard deviations."""
        return (self.contrast[1] - self.contrast[0]) / self.spread

    def without_columns(self) -> "PairDesign":
        """The design once it is fitted: its columns, a hundred times the size of all else, are let go."""
        return replace(self, names=(), matrix=np.empty((len(self.rows), 0)), precision=np.empty(0))


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
    rows = np.flatnonzero(firm.is_studied(place))
    if len(rows) == 0 or not np.ptp(values[rows]) > 0:
        return None
    crews, groups = np.unique(firm.groups[rows], return_inverse=True)
    spread = float(values[rows].std())
    scaled = (values[rows] - values[rows].mean()) / spread
    means = np.bincount(groups, scaled) / np.bincount(groups)
    others = [adjusters[name] for name in adjusters_of(place, firm.places) if name in adjusters]
    own = Columns((place.name, f"{place.name} of the crew"), np.column_stack([scaled, means[groups]]), _OWN_PRECISION)
    columns = _side_by_side(own, [firm.covariates, *others], rows)
    return PairDesign(
        place=place,
        rows=rows,
        names=columns.names,
        matrix=columns.matrix,
        precision=columns.precision,
        groups=groups.astype(np.int64),
        crews=crews,
        values=values[rows],
        spread=spread,
        contrast=contrast_of(values[rows], place),
        words={name: other.words for name, other in firm.places.items()},
    )


def _adjuster(name: str, scaled: Floats, missing: Floats) -> Columns:
    names, parts = [name], [scaled]
    if 0 < missing.mean() < 1:
        names.append(f"{name} (not recorded)")
        parts.append((missing - missing.mean()) / missing.std())
    return Columns(tuple(names), np.column_stack(parts), np.full(len(names), ADJUSTER_PRECISION))


def _side_by_side(own: Columns, parts: list[Columns], rows: NDArray[np.int64]) -> Columns:
    """own, then these rows of parts, without columns of parts that are constant there or repeat an earlier one."""
    columns = [own, *parts]
    matrix = np.empty((len(rows), sum(len(part.names) for part in columns)))
    matrix[:, :2], end = own.matrix, 2
    for part in parts:
        begin, end = end, end + len(part.names)
        matrix[:, begin:end] = part.matrix if len(rows) == len(part.matrix) else part.matrix[rows]
    kept = np.concatenate([[0, 1], 2 + _distinct(matrix[:, 2:])])
    names = [name for part in columns for name in part.names]
    precision = np.concatenate([part.precision for part in columns])[kept]
    return Columns(
        tuple(names[column] for column in kept), matrix if len(kept) == len(names) else matrix[:, kept], precision
    )


def _distinct(matrix: Floats) -> NDArray[np.int64]:
    """Columns that vary and differ from every earlier one: deviations of one measure are missing together."""
    varies = matrix.max(axis=0) > matrix.min(axis=0)
    # columns that are the same have the same sum under any weights; only those are compared row by row
    sums = np.random.default_rng(0).normal(size=len(matrix)) @ matrix
    kept: list[int] = []
    for column in np.flatnonzero(varies):
        alike = [other for other in kept if abs(sums[other] - sums[column]) < 1e-3]
        if not any(np.allclose(matrix[:, other], matrix[:, column], rtol=0, atol=1e-9) for other in alike):
            kept.append(int(column))
    return np.array(kept, dtype=np.int64)


def contrast_of(values: Floats, place: Place) -> tuple[float, float]:
    """(low, high) of the values recorded (m,), which are not all the same: what evidence is judged on."""
    if place.is_check:
        # a check of each leaf fails on one leaf of four, hardly ever on all: that would lie far outside the data
        failed = values[values > 0]
        return 0.0, float(failed.mean()) if len(failed) else 1.0
    low, high = np.quantile(values, [0.1, 0.9])
    if high > low:
        return float(low), float(high)
    # nearly all doors share one value (no shortfall, no tilt): it and the mean of the others, on whichever side
    low, high = sorted((float(low), float(values[values != low].mean())))
    return low, high

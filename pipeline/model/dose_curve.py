"""The dose-response curve of one pair: the headline's design with bends added, on a grid where there are doors."""

from dataclasses import dataclass, replace

import numpy as np

from pipeline.model.pair_design import STUDIED, PairDesign
from pipeline.model.pair_fit import FaultBase, fitted
from pipeline.stats.curves import FittedCurve
from pipeline.stats.hazards import HazardData, HazardFit
from pipeline.stats.intervals import Floats
from pipeline.stats.leaving_out import deletion_shifts, jackknife_covariance
from pipeline.stats.round_values import nearest_step, round_step, scale_of
from pipeline.stats.splines import Bends, bends_over

EVENTS_FOR_FOUR_KNOTS = 100  # below it three knots: each bend should have some dozens of events behind it
# Normal prior, sd 2 per standard deviation of a bend: with sd 1 a curve that levels off is missed.
BEND_PRECISION = 0.25
INNER = (0.025, 0.975)  # quantiles that the grid stays within
LEAST_GRID = 3  # grid values with doors; with fewer there is no curve to see


@dataclass(frozen=True)
class Grid:
    """Round values of a deviation, ascending, each with doors within half a step.

    values, doors (V,); bins (m,) each door's nearest grid value, doors beyond the ends at the ends;
    reference: number of the grid value nearest to the better end that evidence is judged on
    """

    values: Floats
    doors: Floats
    bins: np.ndarray
    reference: int


@dataclass(frozen=True)
class DoseCurve:
    """The curve relative to the grid's reference, and the fit's rows.

    ratios (m,) each door's hazard as recorded, relative to the baseline; baseline (K,) hazard a year in each interval
    """

    curve: FittedCurve
    n_knots: int
    ratios: Floats
    baseline: Floats


def grid_of(design: PairDesign) -> Grid | None:
    """The grid of a deviation, or None where its doors share too few values for a curve."""
    values = design.values
    low, high = np.quantile(values, INNER)
    if not high > low:
        return None
    step = round_step(float(low), float(high), scale_of(values))
    nearest = nearest_step(values, step)
    within = np.unique(nearest[(values >= low) & (values <= high)])
    # a round value just beyond the quantile is outside, even where doors within it are nearest to it
    within = within[(within * step >= low - 1e-9) & (within * step <= high + 1e-9)]
    if len(within) < LEAST_GRID:
        return None
    grid = np.round(within * step, 9)
    bins = np.searchsorted((within[1:] + within[:-1]) / 2, nearest)
    doors = np.bincount(np.searchsorted(within, nearest[np.isin(nearest, within)]), minlength=len(within))
    better, _ = design.place.better_first(*design.contrast)
    return Grid(grid, doors.astype(float), bins, int(np.argmin(np.abs(grid - better))))


@dataclass(frozen=True)
class BentDesign:
    """A pair's design with the bends of its deviation and their crew means behind its own columns."""

    bends: Bends
    columns: PairDesign

    @property
    def own(self) -> list[int]:
        """Columns of the curve: the deviation itself, then its bends."""
        after = len(self.columns.names) - 2 * self.bends.n_columns
        return [STUDIED, *range(after, after + self.bends.n_columns)]

    def at(self, values: Floats) -> Floats:
        """(V, p) the columns of the curve at these values, up to a constant."""
        return np.column_stack([values / self.columns.spread, self.bends.columns(values)])


def knots_for(events: float) -> int:
    """How many knots so many first callbacks support."""
    return 4 if events >= EVENTS_FOR_FOUR_KNOTS else 3


def bent_design(design: PairDesign, n_knots: int) -> BentDesign:
    """The design with room for a curve of so many knots, or of fewer where the doors share few values."""
    bends = bends_over(design.values, n_knots)
    if not bends.n_columns:
        return BentDesign(bends, design)
    columns = bends.columns(design.values)
    sums = np.column_stack([np.bincount(design.groups, column) for column in columns.T])
    means = (sums / np.bincount(design.groups)[:, None])[design.groups]
    names = tuple(f"{design.place.name} bend {number}" for number in range(bends.n_columns))
    bent = replace(
        design,
        names=(*design.names, *names, *(f"{name} of the crew" for name in names)),
        matrix=np.column_stack([design.matrix, columns, means]),
        precision=np.concatenate([design.precision, np.full(2 * bends.n_columns, BEND_PRECISION)]),
    )
    return BentDesign(bends, bent)


def dose_curve(design: BentDesign, base: FaultBase, grid: Grid) -> DoseCurve:
    """The curve of the design's deviation on the base's fault, within crews, adjusted as the headline ratio is.

    Raises NoEventsError where no event falls on these doors.
    """
    data, prior, fit = fitted(design.columns, base)
    own = len(fit.baseline) + np.array(design.own)
    shifts = deletion_shifts(data, prior, fit)[:, own]
    at = design.at(grid.values)
    curve = FittedCurve(
        contrasts=at - at[grid.reference],
        coefficients=fit.beta[design.own],
        covariance=fit.covariance[np.ix_(own, own)],
        group_covariance=jackknife_covariance(shifts) if len(shifts) > 1 else None,
    )
    baseline = np.exp(fit.baseline)
    return DoseCurve(curve, max(len(design.bends.knots), 2), _ratios(data, fit, baseline), baseline)


def _ratios(data: HazardData, fit: HazardFit, baseline: Floats) -> Floats:
    watched = data.time @ baseline
    return np.divide(fit.expected, watched, out=np.zeros(len(watched)), where=watched > 0)

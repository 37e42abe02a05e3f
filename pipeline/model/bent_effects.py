"""Effects that are no straight line: how a deviation's part of the log hazard grows with how far it is from good.

A straight line is kept unless the curve of dose_fits surely bends: most effects are straight enough, and a curve that
follows chance credits worse than a line.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
import polars as pl
from scipy import stats

from pipeline.model.adjusters import Place
from pipeline.stats.intervals import Floats

SURELY = 0.01  # p-value of all bends together: of a hundred straight effects one is taken for bent


@dataclass(frozen=True)
class Bend:
    """excess (V,) ascending, how far beyond the good value, from 0 on; log_ratios (V,) what that adds, 0 or more."""

    excess: Floats
    log_ratios: Floats

    def per_unit(self, excess: Floats, coefficient: float) -> Floats:
        """(...) how much each excess counts in the place of a straight line with this coefficient; 1 for none.

        Beyond the curve's ends it stays as it is there: nothing is known of more.
        """
        curve = np.interp(excess, self.excess, self.log_ratios)
        straight = coefficient * excess
        return np.divide(curve, straight, out=np.ones_like(straight), where=straight > 0)


def bends(dose_fits: pl.DataFrame, places: dict[str, Place]) -> dict[tuple[str, str], tuple[float, Bend]]:
    """By fault and deviation, the good value that a curve which surely bends is counted from, and the curve."""
    return {
        (row["fault"], row["deviation"]): (row["reference"], _bend(row, places[row["deviation"]]))
        for row in dose_fits.iter_rows(named=True)
        if _p_value(row) <= SURELY
    }


def _p_value(row: dict[str, Any]) -> float:
    """That the curve is a straight line (Wald), by the larger of the variances that the headline ratio has."""
    n_columns = len(row["coefficients"])
    if n_columns < 2:
        return 1.0
    own, crews = (np.array(row[name]) for name in ("covariance", "crew_covariance"))
    of_bends = np.array(row["coefficients"])[1:]
    p_values = []
    for covariance in (own, (own + crews) / 2 if len(crews) else own):
        inner = covariance.reshape(n_columns, n_columns)[1:, 1:]
        p_values.append(stats.chi2.sf(of_bends @ np.linalg.pinv(inner) @ of_bends, n_columns - 1))
    return float(max(p_values))


def _bend(row: dict[str, Any], place: Place) -> Bend:
    excess = (np.array(row["grid"]) - row["reference"]) * place.sign
    logs = np.array(row["log_ratios"])
    order = np.argsort(excess)
    is_worse = excess[order] >= 0
    return Bend(excess[order][is_worse], np.maximum(logs[order][is_worse], 0.0))

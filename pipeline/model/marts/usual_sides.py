"""usual_sides: which way each crew usually errs, on average over its doors: the jamb that leans in, hinge or glass.

grain: one row per crew, deviation, measure and member with a signed reading
key: crew, deviation, measure, member
columns:
  crew         text     part of the key
  deviation    text     part of the key: what errs
  measure      text     part of the key: what was read; the deviation itself where several readings make it
  member       text     part of the key: left_jamb or right_jamb; '' of what there is once, and of leaves
  doors        integer  doors with it
  doors_plus   integer  of these, to the right, up, to the outside; of drops: low at the lock
  doors_minus  integer  of these, the other way
  mean         double   average over the doors, with its sign, in the deviation's unit
  mean_low     double   lower end of its 95 % interval; empty below 10 doors
  mean_high    double   upper end
  q_value      double   chance of so much to one side if there were none, over all rows of the deviation
                        (Benjamini-Hochberg)
  side         integer  1 or -1: the usual side, where q is at most 0.05 and the mean half a millimetre or more, which
                        is as fine as a level tells; 0: none shown; empty below 10 doors

Where every jamb of a crew leans the same way, its level may: turned end for end it must read the same.
Sources: Student (1908), Biometrika 6, 1-25; Benjamini and Hochberg (1995), J. R. Stat. Soc. B 57, 289-300.
"""

import numpy as np
import polars as pl

from pipeline.stats.intervals import Floats
from pipeline.stats.means import means
from pipeline.stats.multiplicity import q_values

LEAST_DOORS = 10
MOST_Q = 0.05
LEAST_MEAN = 0.5  # mm: a judgement, no source


def build(side_sums: pl.DataFrame) -> pl.DataFrame:
    """Adds means, intervals and sides; shape (crews x places, 12)."""
    told = side_sums["doors"].to_numpy() >= LEAST_DOORS
    counts, totals, squares = (side_sums[name].to_numpy() for name in ("doors", "total", "squares"))
    found = means(counts, totals, squares)
    q = _within_each(side_sums["deviation"].to_list(), np.where(told, found.p_value, np.nan))
    is_shown = (q <= MOST_Q) & (np.abs(found.estimate) >= LEAST_MEAN)
    side = np.where(is_shown, np.sign(found.estimate), 0.0)
    columns = {
        "mean": found.estimate,
        "mean_low": np.where(told, found.low, np.nan),
        "mean_high": np.where(told, found.high, np.nan),
        "q_value": q,
        "side": np.where(told, side, np.nan),
    }
    added = (pl.Series(name, values).fill_nan(None) for name, values in columns.items())
    return side_sums.drop("total", "squares").with_columns(*added).with_columns(pl.col("side").cast(pl.Int64))


def _within_each(deviations: list[str], p_values: Floats) -> Floats:
    """q-values, each deviation by itself: sides that go without saying must not make others look sure."""
    q = np.full(p_values.shape, np.nan)
    names = np.array(deviations, dtype=object)
    for name in dict.fromkeys(deviations):
        q[names == name] = q_values(p_values[names == name])
    return q

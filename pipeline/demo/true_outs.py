"""Which doors are truly out of limits in which step, whatever was measured."""

import numpy as np
import polars as pl

from pipeline.catalogue.rows import Limit
from pipeline.demo.arrays import Flags, Floats
from pipeline.demo.geometry_leaves import tapers_of_lowest_leaf
from pipeline.demo.simulate import Firm


def true_out_shares(firm: Firm) -> pl.DataFrame:
    """One row per crew and step: doors, true_out_share.

    A door is out in a step where a true deviation of the step lies beyond a limit in use or a check truly failed.
    """
    crews, crew = len(firm.crews.names), firm.doors.crew
    doors = np.bincount(crew, minlength=crews)
    rows = []
    for step in firm.catalogue.steps:
        out = np.bincount(crew, is_out_in(firm, step), crews) / np.maximum(doors, 1)
        rows += [(firm.crews.names[i], step, int(doors[i]), float(out[i])) for i in range(crews)]
    return pl.DataFrame(rows, schema=["crew", "step", "doors", "true_out_share"], orient="row")


def is_out_in(firm: Firm, step: str) -> Flags:
    """(doors,) whether a true deviation of the step lies beyond a limit in use or a check of it truly failed."""
    out = np.zeros(len(firm.doors.crew), dtype=bool)
    # other variants are never out where their family's cause is not
    seen = firm.true | {"gap_taper": tapers_of_lowest_leaf(firm.true)[1]}
    for name, values in seen.items():
        row = firm.catalogue.deviation(name)
        if row.step == step and row.how == "checks":
            out |= values > 0
        elif row.step == step:
            limits = [limit for limit in firm.catalogue.limits if limit.deviation == name and limit.status == "in use"]
            for limit in limits:
                out |= _beyond(values, limit, firm)
    return out


def _beyond(values: Floats, limit: Limit, firm: Firm) -> Flags:
    high = np.full(len(values), np.inf if limit.high is None else limit.high)
    if limit.high_per_m is not None:
        high = np.minimum(high, limit.high_per_m * firm.doors.column(f"{limit.along}_mm") / 1000)
    low = -np.inf if limit.low is None else limit.low
    return (values > high) | (values < low)

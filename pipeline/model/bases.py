"""Every fault before any deviation is studied: fitted once, kept in the table fault_bases, read by all that follows."""

import os
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import numpy as np
import polars as pl

from pipeline.model.evidence import LEAST_EVENTS
from pipeline.model.pair_design import adjuster_columns
from pipeline.model.pair_fit import FaultBase, fault_base
from pipeline.model.risk import FirstFaults
from pipeline.model.study import Study

Bases = dict[str, FaultBase | None]


def fitted_bases(study: Study, faults: dict[str, FirstFaults]) -> Bases:
    """The starting point of each fault; None where its first callbacks are too few for any pair."""
    adjusters = adjuster_columns(study.firm)

    def base(first: FirstFaults) -> FaultBase | None:
        is_enough = first.n_events >= LEAST_EVENTS
        return fault_base(first, study.firm.groups, study.firm.covariates, adjusters) if is_enough else None

    # numpy lets go of the interpreter while it computes, so that threads share the work
    with ThreadPoolExecutor(os.cpu_count()) as pool:
        return dict(zip(faults, pool.map(base, faults.values()), strict=True))


def kept_base(fault: str, base: FaultBase) -> dict[str, Any]:
    """The row of fault_bases."""
    return {
        "fault": fault,
        "crew_sd": base.crew_sd,
        "baseline": base.baseline.tolist(),
        "names": list(base.coefficients),
        "coefficients": [float(value) for value in base.coefficients.values()],
        "crew_effects": base.crew_effects.tolist(),
    }


def read_bases(fault_bases: pl.DataFrame, faults: dict[str, FirstFaults]) -> Bases:
    """The starting points of these faults, as the table keeps them; None for a fault that it does not have."""
    rows = {row["fault"]: row for row in fault_bases.iter_rows(named=True)}
    return {name: _read(rows[name], first) if name in rows else None for name, first in faults.items()}


def _read(row: dict[str, Any], first: FirstFaults) -> FaultBase:
    return FaultBase(
        first,
        row["crew_sd"],
        np.array(row["baseline"]),
        dict(zip(row["names"], row["coefficients"], strict=True)),
        np.array(row["crew_effects"]),
    )

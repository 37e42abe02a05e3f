"""What truly accounts for each callback: every cause's own part, against a door as good as the firm's better ones."""

import numpy as np
import polars as pl

from pipeline.catalogue.rows import Deviation
from pipeline.demo.arrays import Floats
from pipeline.demo.deviations import drawn_order
from pipeline.demo.simulate import Firm
from pipeline.demo.world import CHAIN, FAULTS
from pipeline.stats.credit import credit_shares, own_parts

UNEXPLAINED = "unexplained"


def true_shares(firm: Firm) -> pl.DataFrame:
    """One row per callback and cause, and one `unexplained`: callback_id, deviation, true_share; faults of fitting.

    As `callback_causes` means it: what a cause adds to the log hazard beyond a good door, less what earlier causes
    passed on to it, with the true effects.
    """
    numbers = firm.doors.installs.select("install_id").with_row_index("door")
    answered = pl.col("responsibility").fill_null("unknown").is_in(["installation", "unknown"])
    calls = firm.records["callbacks"].filter(answered & pl.col("fault").is_in(list(FAULTS)))
    calls = calls.join(numbers, on="install_id").select("callback_id", "fault", "door")
    return pl.concat([_of_fault(firm, str(fault), rows) for (fault,), rows in calls.group_by("fault")])


def _of_fault(firm: Firm, fault: str, calls: pl.DataFrame) -> pl.DataFrame:
    names = _causes(firm, fault)
    door = calls["door"].to_numpy()
    parts = _own_excess(firm, names)[door] * _effects(firm, fault, names)
    shares, left = credit_shares(parts)
    columns = [(name, shares[:, k]) for k, name in enumerate(names)] + [(UNEXPLAINED, left)]
    return pl.concat(
        [calls.select("callback_id", deviation=pl.lit(name), true_share=pl.Series(share)) for name, share in columns]
    ).filter(pl.col("true_share") > 0)


def _causes(firm: Firm, fault: str) -> list[str]:
    """The causes of a fault in causal order."""
    is_own = (pl.col("fault") == fault) & pl.col("is_cause")
    known = set(firm.truth.filter(is_own)["deviation"])
    return [name for name in drawn_order(firm.catalogue) if name in known]


def _own_excess(firm: Firm, names: list[str]) -> Floats:
    """(doors, K) beyond a good door's value in the worse direction, and not passed on by an earlier one of `names`."""
    rows = [firm.catalogue.deviation(name) for name in names]
    excess = np.column_stack([_excess(firm.true[row.name], row) for row in rows]) if rows else _nothing(firm)
    passed = np.array([[CHAIN.get(later, {}).get(earlier, 0.0) for earlier in names] for later in names])
    return own_parts(excess, firm.scenario.effect_scale * passed.reshape(len(names), len(names)))


def _nothing(firm: Firm) -> Floats:
    return np.zeros((len(firm.doors.crew), 0))


def _excess(values: Floats, row: Deviation) -> Floats:
    if row.how == "checks":
        return values
    low, high = np.quantile(values, [0.1, 0.9])
    return np.maximum(high - values, 0.0) if row.worse == "lower" else np.maximum(values - low, 0.0)


def _effects(firm: Firm, fault: str, names: list[str]) -> Floats:
    """(K,) log hazard ratio for one unit worse."""
    rows = firm.truth.filter(pl.col("fault") == fault)
    by_name = dict(zip(rows["deviation"], (rows["log_ratio"] / rows["per"]).abs(), strict=True))
    return np.array([by_name[name] for name in names])

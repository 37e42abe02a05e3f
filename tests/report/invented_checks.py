"""Invented rows of model_checks: nothing missed, something missed, too few."""

from datetime import date
from typing import Any

import polars as pl

from pipeline.model.marts.model_checks import ENDS, SCHEMA


def checks() -> pl.DataFrame:
    """All faults, two that are judged, of which the second hides a meeting of two deviations, and a rare one."""
    missed = _row("stiff_running", 71, 44, 0.62, 0.09) | {
        "verdict": "something missed", "look_at": "sill out of level, jamb out of plumb", "new_share": 0.4,
        "note": "fewer callbacks came than either foretold",
    }  # fmt: skip
    few = dict.fromkeys(SCHEMA) | {"fault": "noise", "cut_on": date(2025, 9, 30), "doors": 1480, "before": 3, "came": 2}
    few |= {"verdict": "too_few", "note": "3 first callbacks before and 2 after; 30 are needed to learn from"}
    rows = [_row("all", 310, 168, 0.78, -0.004), _row("dropped_leaf", 60, 32, 0.84, 0.002), missed, few]
    return pl.DataFrame(rows, schema=SCHEMA)


def nothing_missed() -> pl.DataFrame:
    """The same without what is missed."""
    found = pl.col("verdict") == "something missed"
    return checks().with_columns(
        verdict=pl.when(found).then(pl.lit("nothing missed")).otherwise("verdict"),
        look_at=pl.lit(None, dtype=pl.String),
    )


def _row(fault: str, before: int, came: int, order: float, gain: float) -> dict[str, Any]:
    middles = {"c_plain": (order, 0.03), "c_challenger": (order + gain, 0.03), "c_gain": (gain, 0.01)}
    for model in ("plain", "challenger"):
        middles |= {f"slope_{model}": (0.96, 0.1), f"level_{model}": (0.93, 0.15)}
    row = dict.fromkeys(SCHEMA) | {"fault": fault, "cut_on": date(2025, 9, 30), "doors": 1480, "note": ""}
    row |= {"before": before, "came": came, "verdict": "nothing missed", "new_share": 0.01}
    for name, (middle, half) in middles.items():
        row |= dict(zip((f"{name}{end}" for end in ENDS), (middle, middle - half, middle + half), strict=True))
    return row | {"p_value": 0.4, "q_value": 0.6}

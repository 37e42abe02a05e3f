"""Invented rows of effect_sensitivity and instrument_blur beside the invented effects."""

from typing import Any

import polars as pl

from pipeline.model.marts.effect_sensitivity import SCHEMA
from pipeline.model.marts.instrument_blur import SCHEMA as BLUR_SCHEMA

WAYS = {
    "as reported": 1.0,
    "repeats within 14 days": 1.0,
    "until the first visit": 1.1,
    "without records in doubt": 0.93,
}


def other_ways(effects: pl.DataFrame) -> pl.DataFrame:
    """Every claimed effect in four ways, the first also under a limit for comparison; the last hint turns."""
    claimed = effects.filter(pl.col("evidence").is_in(["strong", "suggestive"])).rows(named=True)
    rows = [_row(effect, what, factor) for effect in claimed for what, factor in WAYS.items()]
    limit = _row(claimed[0], "limit: another one", 1.0) | {"share": 0.1, "share_low": 0.04, "share_high": 0.15}
    limit |= dict.fromkeys(["ratio", "ratio_low", "ratio_high", "e_value", "e_value_low", "verdict"])
    rows[-1] |= {"ratio": 0.8, "ratio_low": 0.5, "ratio_high": 1.2, "verdict": "turns"}
    return pl.DataFrame([*rows, limit], schema=SCHEMA)


def blurs(effects: pl.DataFrame) -> pl.DataFrame:
    """Every claimed effect: the first two are checks or unknown, the third too blurred to tell, the rest corrected."""
    claimed = effects.filter(pl.col("evidence").is_in(["strong", "suggestive"])).rows(named=True)
    rows = []
    for number, effect in enumerate(claimed):
        row = dict.fromkeys(BLUR_SCHEMA) | {name: effect[name] for name in ("fault", "deviation", "doors")}
        row |= {"doors_known": 0, "doors_repeated": 0, "verdict": "no uncertainty known", "note": ""}
        if number >= 2:
            row |= {"reliability": 0.5, "doors_known": 900, "verdict": "the instrument cannot tell"}
        if number > 2:
            ends = {"ratio": "contrast_ratio", "ratio_low": "contrast_low", "ratio_high": "contrast_high"}
            row |= {name: effect[key] ** 1.2 for name, key in ends.items()}
            row |= {"reliability": 0.85, "verdict": "corrected"}
        rows.append(row)
    return pl.DataFrame(rows, schema=BLUR_SCHEMA)


def _row(effect: dict[str, Any], what: str, factor: float) -> dict[str, Any]:
    keys = {"ratio": "contrast_ratio", "ratio_low": "contrast_low", "ratio_high": "contrast_high"}
    row = dict.fromkeys(SCHEMA) | {name: effect[name] for name in ("fault", "deviation", "doors", "events")}
    row |= {"what": what, "e_value": 3.4, "e_value_low": 1.9, "verdict": "holds"}
    return row | {name: effect[key] * factor for name, key in keys.items()}

"""Invented rows of effect_by beside the invented effects."""

from typing import Any

import polars as pl

from pipeline.model.marts.effect_by import SCHEMA

MATERIALS = {"aluminium": 0.82, "pvc-u": 0.8, "timber": 1.9}
SEASONS = {"December to February": 1.1, "March to May": 0.95, "June to August": 1.0, "September to November": 0.9}
CREWS = {"all": 1.0, "K1": 1.8, "K2": 1.1, "K7": 0.55}


def effects_by(effects: pl.DataFrame) -> pl.DataFrame:
    """Every claimed effect; the first differs between materials, the second between crews."""
    claimed = effects.filter(pl.col("evidence").is_in(["strong", "suggestive"])).rows(named=True)
    rows = []
    for place, effect in enumerate(claimed):
        rows += [_row(effect, "material", name, size, place == 0) for name, size in MATERIALS.items()]
        rows.append(_row(effect, "material", "steel", None, False))
        rows += [_row(effect, "season", name, size, False) for name, size in SEASONS.items()]
        differs = place == 1
        crews = [_row(effect, "crew", name, size, differs) for name, size in CREWS.items() if differs or name == "all"]
        crews[0] |= {"spread": 0.6 if differs else 0.0, "spread_high": 1.0, "doors": effect["doors"]}
        rows += crews
    return pl.DataFrame(rows, schema=SCHEMA).sort("fault", "deviation", "by", "level")


def _row(effect: dict[str, Any], by: str, level: str, size: float | None, differs: bool) -> dict[str, Any]:
    row = dict.fromkeys(SCHEMA) | {name: effect[name] for name in ("fault", "deviation")}
    row |= {"by": by, "level": level, "doors": 300, "events": 12, "verdict": "too_few"}
    if size is None:
        return row
    keys = {"ratio": "contrast_ratio", "ratio_low": "contrast_low", "ratio_high": "contrast_high"}
    p_value = 0.0004 if differs else 0.4
    row |= {"p_differ": p_value, "q_differ": 12 * p_value if differs else 0.7}
    row |= {"verdict": "differs" if differs else "alike"}
    return row | {name: effect[key] * size for name, key in keys.items()}

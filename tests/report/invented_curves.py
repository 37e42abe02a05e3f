"""Invented curves of risk and advice on limits, for the measured cause that is strong in the invented effects."""

import numpy as np
import polars as pl

FAULT, DEVIATION = "stiff_running", "sill_level_error"


def curves() -> dict[str, pl.DataFrame]:
    """dose_response of one pair, and limit_advice of it and of a hint."""
    value = np.arange(0.4, 5.1, 0.2)
    log_ratio, error = 0.23 * (value - 0.8), 0.07 * np.abs(value - 0.8)
    points = pl.DataFrame(
        {
            "fault": FAULT, "deviation": DEVIATION, "value": value.round(6), "hazard_ratio": np.exp(log_ratio),
            "hr_low": np.exp(log_ratio - 1.96 * error), "hr_high": np.exp(log_ratio + 1.96 * error),
            "doors": np.round(200 * np.exp(-0.6 * value)).astype(int), "reference": 0.8, "knots": 3, "unit": "mm",
        }
    )  # fmt: skip
    row = {
        "fault": FAULT, "deviation": DEVIATION, "limit_now": 3.0, "limit_risk_1_5": 2.56, "limit_low": 1.9,
        "limit_high": 4.87, "limit_cost": 3.6, "limit_cost_low": 2.8, "limit_cost_high": None, "advice": "keep",
        "note": "where 1.5 times the risk begins is not known well enough to move it", "evidence": "strong",
        "reference": 0.8, "data_end": 5.0, "limits_in_use": 40, "limit_share": 0.6, "share_beyond": 0.31,
        "rework_cost": 76.0, "is_usual_rework": True, "unit": "mm",
    }  # fmt: skip
    unknown = ("limit_risk_1_5", "limit_high", "limit_cost", "limit_cost_low", "share_beyond", "rework_cost")
    hint = row | dict.fromkeys((*unknown, "is_usual_rework")) | {
        "fault": "lock_misaligned", "deviation": "frame_diagonal_difference", "limits_in_use": 1, "limit_share": 1.0,
        "evidence": "suggestive", "note": "no strong evidence that it brings this fault",
    }  # fmt: skip
    return {"dose_response": points, "limit_advice": pl.DataFrame([row, hint], infer_schema_length=None)}

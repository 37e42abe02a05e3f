"""Invented early warnings and effects of trainings."""

from datetime import date
from typing import Any

import numpy as np
import polars as pl

from pipeline.model.chart_points import SCHEMA as POINTS
from pipeline.model.marts.signals import SCHEMA as SIGNALS
from pipeline.model.marts.training_effects import SCHEMA as TRAININGS

STEP_CHART = {"crew": "K4", "subject": "sill", "chart": "ewma"}
FAULT_CHART = {"crew": "all", "subject": "draught", "chart": "cusum"}


def warnings() -> dict[str, pl.DataFrame]:
    """Points of two charts that alarmed and of one that is too short, the alarms, and the charts."""
    rng = np.random.default_rng(5)
    points = [*_points(STEP_CHART, "sill", 0.9, rng), *_points(FAULT_CHART, None, 4.2, rng)]
    short = {"crew": "K9", "subject": "sill", "chart": "ewma", "step": "sill", "at": date(2026, 5, 30)}
    alarms = [
        _alarm(STEP_CHART, 0.97, "crew K4's doors are worse in the sill step", "31 doors since") | {"step": "sill"},
        _alarm(FAULT_CHART, 4.6, "the whole firm's doors come back more often with draught", "9 callbacks against 2.6"),
    ]  # fmt: skip
    return {
        "signal_points": pl.DataFrame([*points, dict.fromkeys(POINTS) | short | {"is_out": False}], schema=POINTS),
        "signals": pl.DataFrame(alarms, schema=SIGNALS),
        "signal_charts": _charts(),
    }


def _points(chart: dict[str, str], step: str | None, limit: float, rng: np.random.Generator) -> list[dict[str, Any]]:
    path = np.concatenate([np.abs(rng.normal(0.2, 0.15, 26)), [0.5, 0.8, 1.08]]) * limit
    return [
        dict.fromkeys(POINTS) | chart | {
            "step": step, "at": date(2024 + index // 12, index % 12 + 1, 28), "value": float(value), "limit": limit,
            "is_out": bool(value > limit), "since": date(2026, 3, 1), "doors": 12, "run_length": 9000.0,
        }
        for index, value in enumerate(path)
    ]  # fmt: skip


def _alarm(chart: dict[str, str], value: float, what: str, how_much: str) -> dict[str, Any]:
    said = {"what": f"From about March 2026 on, {what}", "how_much": how_much, "act": "look at the latest doors first"}
    meaning = f"{said['what']}: {how_much}. Look at the latest doors first."
    return dict.fromkeys(SIGNALS) | chart | said | {
        "at": date(2026, 5, 28), "value": value, "limit": 0.9, "since": date(2026, 3, 1), "meaning": meaning,
        "run_length": 9000.0,
    }  # fmt: skip


def _charts() -> pl.DataFrame:
    last = date(2026, 5, 28)
    rows = [
        chart | {"points": 29, "tested": tested, "signals": signals, "last_signal": last if signals else None,
                 "false_alarms_per_year": 0.2}
        for chart, tested, signals in (
            (STEP_CHART, 26, 1), (FAULT_CHART, 26, 1), ({"crew": "K9", "subject": "sill", "chart": "ewma"}, 0, 0),
        )
    ]  # fmt: skip
    return pl.DataFrame(rows, schema_overrides={"last_signal": pl.Date})


def trainings() -> pl.DataFrame:
    """One that worked, one that cannot be told, one with too few doors."""
    rows = [
        _training("K4", "sill", (0.55, 0.38, 0.8), 0.41),
        _training("K7", "frame", (0.93, 0.66, 1.31), 0.7),
        _training("all", "sill", (0.55, 0.38, 0.8), 0.41),
        _training("all", "frame", (0.93, 0.66, 1.31), 0.7),
        _training("K2", "sill", None, None) | {"note": "too few doors after the training (4)"},
        _training("K4", "sill", None, None) | {"outcome": "callbacks", "note": "too few doors after the training (31)"},
    ]
    return pl.DataFrame(rows, schema=TRAININGS)


def _training(crew: str, step: str, ratio: tuple[float, float, float] | None, naive: float | None) -> dict[str, Any]:
    low = dict(zip(("ratio", "ratio_low", "ratio_high"), ratio or (None,) * 3, strict=True))
    just = dict(zip(("just_before_ratio", "just_before_low", "just_before_high"), (1.4, 0.9, 2.2), strict=True))
    return dict.fromkeys(TRAININGS) | low | just | {
        "crew": crew, "step": step, "trained_on": date(2025, 2, 3), "outcome": "out_share", "p_value": 0.02,
        "doors_before": 140, "doors_after": 88, "events_before": 44, "events_after": 15, "doors_untrained": 1100,
        "sessions": 1, "doors_just_before": 22, "naive_ratio": naive,
    }  # fmt: skip

"""Rows with ordinary values, for tests that change one thing."""

from datetime import datetime
from typing import Any

import polars as pl

from pipeline.report.rows.table_rows import CrewOut, CrewRate, Effect, LimitCount, Month, RecordedShare, WeakStep
from pipeline.stats.intervals import share_interval

EFFECT: dict[str, Any] = {
    "fault": "stiff_running", "fault_words": "stiff running", "deviation": "sill_level_error",
    "words": "sill out of level", "do": "level the sill along its length before fixing it", "step": "sill",
    "step_order": 2, "unit": "mm", "worse": "higher", "role": "cause", "family": "sill_level_error", "is_check": False,
    "is_expected": True, "evidence": "strong", "note": "", "doors": 1285, "events": 65, "recorded_share": 0.85,
    "doors_needed": None,
    "per": 1.0, "hazard_ratio": 1.3, "hr_low": 1.1, "hr_high": 1.5, "contrast_ratio": 2.2, "contrast_low": 1.5,
    "contrast_high": 3.3, "contrast_from": 0.8, "contrast_to": 4.2, "between_ratio": 1.2, "q_value": 0.01,
    "attributable_share": 0.2, "attributable_low": 0.1, "attributable_high": 0.3, "avoidable_per_year": 11.0,
    "avoidable_low": 7.0, "avoidable_high": 15.0, "avoidable_cost_per_year": 2500.0,
    "doubted_doors": 0, "ratio_without_doubtful": None,
}  # fmt: skip
ANSWER = list(EFFECT)[list(EFFECT).index("hazard_ratio") :]  # what a pair has only once it is answered
TOO_FEW = dict.fromkeys(ANSWER) | {"evidence": "too_few", "note": "too few first callbacks"}


def plain(text: str) -> str:
    """A sentence without what keeps a number and its unit on one line."""
    return text.replace("\N{NO-BREAK SPACE}", " ")


def effect(**changed: Any) -> Effect:
    """A strong cause, sill out of level → stiff running."""
    return Effect(**(EFFECT | changed))


def open_pair(**changed: Any) -> Effect:
    """The same pair with too few records."""
    return Effect(**(EFFECT | TOO_FEW | changed))


def nothing(**changed: Any) -> Effect:
    """The same pair with enough records and nothing shown."""
    shown = {"contrast_ratio": 1.1, "contrast_low": 0.7, "contrast_high": 1.7, "avoidable_per_year": 1.0}
    return effect(evidence="none", **(shown | {"avoidable_low": -3.0, "avoidable_high": 5.0} | changed))


def weak_step(crew: str, share: float, half: float, firm: float = 0.14, **changed: Any) -> WeakStep:
    """A crew at the sill; own and expected share the same, with an interval of `half` on both sides."""
    values: dict[str, Any] = {
        "crew": crew, "step": "sill", "step_order": 2, "doors": 120, "doors_out": round(120 * share),
        "out_share": share, "out_low": share - half, "out_high": share + half, "shrunk_share": share,
        "shrunk_low": share - half, "shrunk_high": share + half, "firm_out_share": firm,
        "firm_out_low": max(firm - 0.04, 0.0), "firm_out_high": firm + 0.04, "avoidable_per_year": None,
        "priority": None, "priority_low": None, "priority_high": None,
    }  # fmt: skip
    return WeakStep(**(values | changed))


def crew_out(crew: str, deviation: str, doors_out: int, **changed: Any) -> CrewOut:
    """A deviation out on `doors_out` of 100 doors of a crew, at the sill."""
    values = {"words": deviation.replace("_", " "), "do": f"mend {deviation}", "step": "sill", "doors": 100,
              "is_step_judged": True}  # fmt: skip
    return CrewOut(crew=crew, deviation=deviation, doors_out=doors_out, **(values | changed))


def crew_rate(crew: str, fair: tuple[float, float, float] | None = (1.0, 0.8, 1.25), **changed: Any) -> CrewRate:
    """A crew with 40 callbacks in 400 door-years; `fair` is its fair ratio with its interval."""
    ratio, low, high = fair or (None, None, None)
    values: dict[str, Any] = {
        "crew": crew, "doors": 150, "door_years": 400.0, "callbacks": 40, "callbacks_all": 48, "cost": 9600.0,
        "cost_known": 40, "rate": 10.0, "rate_low": 7.1, "rate_high": 13.6, "expected": 41.0, "fair_ratio": ratio,
        "fair_low": low, "fair_high": high, "place_low": 3, "place_high": 9, "crews_compared": 12, "direct_rate": 9.8,
        "direct_low": 6.9, "direct_high": 13.8, "direct_note": "", "funnel": "inside", "steps_ratio": None,
        "steps_low": None, "steps_high": None, "rest_ratio": None, "rest_low": None, "rest_high": None,
    }  # fmt: skip
    return CrewRate(**(values | changed))


def limit_count(limit: str = "plumb", **changed: Any) -> LimitCount:
    """100 doors: 70 within, 20 out, 10 undecided."""
    values: dict[str, Any] = {
        "limit": limit, "deviation": "jamb_plumb_error", "words": "jamb out of plumb", "step": "frame", "step_order": 3,
        "source": "common practice, no source", "edition": "", "status": "in use", "doors": 120, "within": 70,
        "out": 20, "undecided": 10, "not_recorded": 20,
    }  # fmt: skip
    values |= changed
    return LimitCount(**(out_share(values["out"], values["doors"] - values["not_recorded"]) | values))


def out_share(out: int, doors: int) -> dict[str, float | None]:
    """The share of doors out and its ends, as the table has them."""
    share = share_interval(out, doors) if doors else None
    ends = (None, None, None) if share is None else (share.estimate, share.low, share.high)
    return {
        name: None if end is None else float(end)
        for name, end in zip(("out_share", "out_low", "out_high"), ends, strict=True)
    }


def month_of(name: str, is_complete: bool = True, **changed: Any) -> Month:
    """A month with nine callbacks in 100 door-years."""
    values: dict[str, Any] = {
        "callbacks": 9, "callbacks_all": 11, "door_years": 100.0, "rate": 9.0, "rate_low": 4.1, "rate_high": 17.1,
        "cost": 2000.0,
    }  # fmt: skip
    return Month(month=name, is_complete=is_complete, **(values | changed))


def recorded(deviation: str, doors_recorded: int, **changed: Any) -> RecordedShare:
    """A cause recorded on some of 100 doors."""
    values: dict[str, Any] = {
        "words": deviation.replace("_", " "), "step": "sill", "step_order": 2, "role": "cause", "is_check": False,
        "doors": 100, "doors_out": 0,
    }  # fmt: skip
    return RecordedShare(deviation=deviation, doors_recorded=doors_recorded, **(values | changed))


def corrections() -> pl.DataFrame:
    """Two cells that were corrected, one of them overtaken by its file since."""
    places = {"record": "readings", "file": "readings 2025-06.csv", "sheet": None, "heading": None}
    when = datetime(2026, 3, 9, 10, 15)
    rows = [
        {**places, "row": 41, "column": "value", "before": "1,234", "after": "1234", "state": "in force"},
        {**places, "row": 7, "column": "unit", "before": "mn", "after": None, "state": "superseded"},
    ]
    texts = dict.fromkeys(("record", "file", "sheet", "heading", "column", "before", "after", "state"), pl.String)
    frame = pl.DataFrame(rows, schema={"row": pl.Int32, **texts})
    return frame.with_columns(correction=pl.int_range(1, 3), corrected_at=when, who=pl.lit("keeper"))

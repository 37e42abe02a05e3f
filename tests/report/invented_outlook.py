"""An invented outlook: months seen and to come, looking back, and a chain ladder."""

from datetime import date

import polars as pl


def outlook_tables() -> dict[str, pl.DataFrame]:
    """outlook, outlook_backtest, late_paper, development, year_change and door_spans."""
    months = [f"{2026 + (6 + at) // 12}-{(6 + at) % 12 + 1:02d}" for at in range(12)]
    rows = [_ahead(month, 30.0 + at, 9.0) for at, month in enumerate(months)]
    rows.append(_ahead("total", sum(row["callbacks"] for row in rows), 62.0))
    return {
        "outlook": pl.DataFrame(rows),
        "outlook_backtest": pl.DataFrame(
            [_look(date(2024, 12, 31), 310.0, 302.0), _look(date(2025, 6, 30), 340.0, 331.5)]
        ),
        "late_paper": pl.DataFrame([_paper(at) for at in range(36)]),
        "development": pl.DataFrame(
            [
                {"cohort": f"202{4 + at // 4}-{3 * (at % 4) + 1:02d}-01"} | _cohort(150, 30.0 - at, 12.0 + 6 * at)
                for at in range(8)
            ]
            + [{"cohort": "total"} | _cohort(1200, 212.0, 290.0)]
        ),
        "year_change": pl.DataFrame([year_change()]),
        "door_spans": pl.DataFrame({"removed_on": [date(9999, 12, 31)], "doors": [1500]}),
    }


def year_change() -> dict[str, object]:
    """A year in which fewer came, on doors of the same age, than in the one before."""
    return {
        "last_month": "2026-06", "callbacks": 170, "callbacks_before": 158, "door_years": 1840.0,
        "door_years_before": 1310.0, "ratio": 0.76, "ratio_low": 0.61, "ratio_high": 0.95, "is_corrected": True,
    }  # fmt: skip


def _ahead(month: str, callbacks: float, half: float) -> dict[str, object]:
    return {
        "month": month, "callbacks": callbacks, "callbacks_low": callbacks - half, "callbacks_high": callbacks + half,
        "cost": 231.0 * callbacks, "cost_low": 225.0 * (callbacks - half), "cost_high": 240.0 * (callbacks + half),
        "from_doors_out": 0.75 * callbacks, "from_planned": 0.25 * callbacks, "basis": "draws", "cost_known": 440,
    }  # fmt: skip


def _look(on: date, foretold: float, came: float) -> dict[str, object]:
    return {
        "made_on": on, "until_on": on.replace(year=on.year + 1), "callbacks_then": 260, "callbacks": foretold,
        "callbacks_low": foretold - 70, "callbacks_high": foretold + 80, "seen": int(came), "came": came,
        "is_inside": True,
    }  # fmt: skip


def _paper(at: int) -> dict[str, object]:
    year, month, share = 2023 + (at + 6) // 12, (at + 6) % 12 + 1, 1.0 if at < 34 else 0.95 - 0.2 * (at - 34)
    reported = round((4 + 0.7 * at) * share)
    return {
        "month": f"{year}-{month:02d}", "reported": reported, "arrived_share": share, "corrected": reported / share,
        "corrected_low": float(reported), "corrected_high": reported / share + 6 * (1 - share), "is_over": True,
        "is_complete": at < 34, "complete_to": date(2026, 5, 12), "is_corrected": True,
    }  # fmt: skip


def _cohort(doors: int, callbacks: float, to_come: float) -> dict[str, object]:
    return {
        "doors": doors, "callbacks": callbacks, "to_come": to_come, "low": 0.8 * to_come, "high": 1.25 * to_come,
        "months_a_period": 3,
    }  # fmt: skip

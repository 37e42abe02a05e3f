"""Invented doors that show a cause and came back, and that show it and did not."""

from datetime import date, timedelta

import polars as pl


def example_doors() -> pl.DataFrame:
    """Five of each kind, of the invented firm's strongest cause and of its second."""
    pairs = (("toe_and_heel", "dropped_leaf", 1.0), ("sill_joint_sealed", "water_ingress", 1.0))
    rows = [
        {
            "fault": fault, "deviation": deviation, "kind": kind, "place": place, "pair": pair,
            "install_id": f"D{100 * pair + 10 * place + len(kind):05d}", "value": value - 0.1 * (place % 2),
            "fitted_on": date(2024, 1, 1) + timedelta(days=40 * place), "door_years": 2.4 - 0.2 * place,
            "reported_on": date(2026, 1, 1) - timedelta(days=20 * place) if kind == "came back" else None,
            "doors_alike": 23 if kind == "came back" else 104,
        }
        for pair, (deviation, fault, value) in enumerate(pairs, start=1)
        for kind in ("came back", "did not")
        for place in range(1, 6)
    ]  # fmt: skip
    return pl.DataFrame(rows)

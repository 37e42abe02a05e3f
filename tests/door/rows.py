"""The rows of one invented door, as the trail holds them, without a firm or a database."""

from dataclasses import replace
from datetime import date
from typing import Any

from pipeline.door.trail import DoorTrail, Row

HOSTILE = "<img src=x onerror=alert(1)>\"'&\u202e-../../../etc"
FACTS: Row = {
    "install_id": "D-7", "crew": "Alder", "fitted_on": date(2024, 1, 10), "handed_over_on": date(2024, 1, 20),
    "removed_on": None, "leaves": 4, "width_mm": 4000.0, "height_mm": 2100.0, "surveyed_on": None, "product": "Fold 1",
    "material": "aluminium", "colour": "dark", "work": "new", "leaf_weight_kg": None, "started_on": date(2024, 1, 20),
    "from_on": date(2024, 1, 20), "until_on": date(2025, 6, 30), "ended_by": "as_of", "warranty_on": None,
    "door_years": 1.44, "firm": "Invented Doors", "as_of": date(2025, 6, 30), "run": "2025-07-01",
}  # fmt: skip
PLACE: Row = {"file": "readings.csv", "sheet": None, "row": 2, "column": None}


def reading(measure: str, value: float | None, member: str | None = None, **more: Any) -> Row:
    """One reading that counts. more: station, position_mm, read_on, state ..."""
    row: Row = {
        "measure": measure, "member": member, "station": None, "position_mm": None, "value": value, "unit": "mm",
        "instrument": None, "read_on": date(2024, 1, 9), "read_by": None, "raw": None, "written_value": None,
        "written_unit": None, "words": measure.replace("_", " "), "state": "counts",
    }  # fmt: skip
    return row | PLACE | more


def line(measure: str, member: str, points: dict[float, float]) -> list[Row]:
    """Readings along a member: mm → value."""
    return [reading(measure, value, member, position_mm=at) for at, value in points.items()]


def deviation(name: str, value: float | None, **more: Any) -> Row:
    """One deviation of the door."""
    row: Row = {
        "deviation": name, "step": "sill", "value": value, "unit": "mm", "uncertainty": 0.7, "readings": 4,
        "undated": 0, "measure": None, "how": "own", "role": "cause", "do": "level it", "words": name.replace("_", " "),
    }  # fmt: skip
    return row | more


def limit(name: str, value: float | None, upper: float, decision: str, **more: Any) -> Row:
    """One limit's decision on a deviation."""
    row: Row = {
        "limit": f"limit of {name}", "deviation": name, "limit_value": upper, "decision": decision,
        "probability_out": 0.5, "lower_limit": None, "upper_limit": upper, "value": value, "unit": "mm", "step": "sill",
        "words": name.replace("_", " "), "source": "common practice, no source",
    }  # fmt: skip
    return row | more


def call(name: str, on: date, *faults: tuple[str, str]) -> tuple[Row, list[Row]]:
    """One callback and its faults: (fault, kind)."""
    row: Row = {
        "callback_id": name, "reported_on": on, "visited_on": None, "responsibility": "unknown", "how": "install_id",
        "probability": None, "faults": ", ".join(fault for fault, _ in faults), "kind": faults[0][1],
    }  # fmt: skip
    rows = [
        {"callback_id": name, "fault": fault, "kind": kind, "is_answered_for": True, "words": fault.replace("_", " ")}
        for fault, kind in faults
    ]
    return row | PLACE, rows


def cause(callback_id: str, name: str, share: float, low: float, high: float, **more: Any) -> Row:
    """What accounts for a part of a callback."""
    row: Row = {
        "callback_id": callback_id, "deviation": name, "share": share, "low": low, "high": high,
        "faults": "stiff_running", "value": 3.4, "good_value": 0.4, "unit": "mm", "unrecorded": None,
        "is_recorded": True, "do": "level it", "words": name.replace("_", " "),
    }  # fmt: skip
    return row | more


def trail(**parts: Any) -> DoorTrail:
    """A door of which nothing but its size is known, with some parts replaced; facts are laid over FACTS."""
    bare = DoorTrail(FACTS, [PLACE | {"state": "current"}], [], [], [], [], [], [], [], [])
    return replace(bare, **(parts | {"facts": FACTS | parts.get("facts", {})}))

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
        "evidence": None if name == "unexplained" else "strong",
        "through": None,
    }  # fmt: skip
    return row | more


def trail(**parts: Any) -> DoorTrail:
    """A door of which nothing but its size is known, with some parts replaced; facts are laid over FACTS."""
    bare = DoorTrail(FACTS, [PLACE | {"state": "current"}], [], [], [], [], [], [], [], [])
    return replace(bare, **(parts | {"facts": FACTS | parts.get("facts", {})}))


def full(leaves: int = 4, error: float = 4.0, **facts: Any) -> DoorTrail:
    """A door of which everything that is drawn was read. error: mm by which sill, jambs and head are off."""
    width, height = 850.0 * leaves, 2100.0
    rows = line("sill_height", "sill", {width * at / 8: 100 + error * at / 8 for at in range(9)})
    rows += line("sill_tilt", "sill", {0: 1.5, width: -0.4})
    rows += line("sill_line", "sill", {0: 0.0, width / 2: 1.5, width: 0.2})
    rows += line("clear_height", "head", {width * at / 6: 2050 - error * at / 6 for at in range(7)})
    for jamb, side in (("left_jamb", 1), ("right_jamb", -1)):
        rows += line("jamb_edge", jamb, {0: 30.0, 1050: 30 + side * error / 2, height: 30 + side * error})
        rows += line("jamb_face", jamb, {0: 30.0, height: 30 + side * error})
        rows += [reading("fixing", at, jamb, station=str(n)) for n, at in enumerate((120, 700, 1900), start=1)]
        rows += [reading("packer", at, jamb, station=str(n)) for n, at in enumerate((60, 180, 650, 760), start=1)]
    for member in ("head", "sill"):
        rows += [reading("fixing", 200 + 550 * n, member, station=str(n + 1)) for n in range(int((width - 300) // 550))]
    rows += line("perimeter_gap", "head", {width / 4: 6.5}) + line("perimeter_gap", "left_jamb", {500: 4.5})
    rows += [reading("frame_diagonal", 4520.5 + side, station=name) for name, side in (("rising", 3), ("falling", 0))]
    for number in range(1, leaves + 1):
        rows += _leaf(f"leaf_{number}", number)
    names = {
        "sill_level_error": error, "jamb_plumb_error": error, "head_parallel_error": error, "jamb_twist": 2 * error,
        "frame_diagonal_difference": 3.0, "gap_taper": 2.9, "leaf_diagonal_difference": 2.5, "fixing_spacing": 1200.0,
        "fixing_corner_distance": 120.0, "unpackered_fixings": 0.33, "hinge_packer_count": 5.0, "leaf_drop": 3.2,
        "perimeter_gap_shortfall": 0.5, "sill_tilt_in": 0.4, "sill_line_bow": 1.4,
    }  # fmt: skip
    uppers = {"fixing_spacing": 600.0, "unpackered_fixings": 0.0, "hinge_packer_count": 4.0, "leaf_drop": 2.0,
              "perimeter_gap_shortfall": 0.0, "sill_tilt_in": 0.0, "gap_taper": 2.0}  # fmt: skip
    limits = [limit(name, value, uppers.get(name, 3.0), _decision(value, uppers.get(name, 3.0))) for name, value in
              names.items() if name != "fixing_corner_distance"]  # fmt: skip
    limits.append(limit("fixing_corner_distance", 120.0, 0.0, "out", lower_limit=150.0, upper_limit=None))
    sized = {"leaves": leaves, "width_mm": width, "height_mm": height, **facts}
    deviations = [deviation(name, value) for name, value in names.items()]
    return trail(facts=sized, readings=rows, deviations=deviations, limits=limits, **_calls())


def _decision(value: float, upper: float) -> str:
    return "within" if value <= upper else "undecided" if value < upper + 1 else "out"


def _leaf(name: str, number: int) -> list[Row]:
    gaps = (("head_gap", "hinge", 4.0), ("head_gap", "lock", 4.0 + number % 3), ("threshold_gap", "hinge", 8.0),
            ("threshold_gap", "lock", 8.0 - 0.6 * (number % 6)), ("side_gap", "top", 5.0), ("side_gap", "bottom", 3.6),
            ("leaf_diagonal", "rising", 2200.5), ("leaf_diagonal", "falling", 2198.0))  # fmt: skip
    rows = [reading(measure, value, name, station=station) for measure, station, value in gaps]
    rows += [reading("hinge_packers", count, name, station=str(n)) for n, count in enumerate((1, 5, 2), start=1)]
    rows += [reading("seal_compression", 2.2, name, station=str(n)) for n in (1, 2, 3)]
    return [*rows, reading("running_force", 65.0, name)]


def _calls() -> dict[str, list[Row]]:
    """A life with every kind of call, close together and at both ends."""
    found = [
        call("C0", date(2024, 1, 15), ("incomplete_work", "pre_handover")),
        *(call(f"C{n}", date(2024, 3, n), ("stiff_running", "episode" if n == 1 else "repeat")) for n in range(1, 6)),
        call("C9", date(2025, 6, 28), ("water_ingress", "episode"), ("roller_damage", "episode")),
    ]
    causes = [cause("C1", "sill_level_error", 0.49, 0.34, 0.64), cause("C1", "unexplained", 0.51, 0.36, 0.66,
                                                                      is_recorded=None, value=None),
              cause("C9", "end_dams_sealed", 0.4, 0.1, 0.8, is_recorded=False),
              cause("C9", "unexplained", 0.6, 0.2, 0.9, is_recorded=None, value=None)]  # fmt: skip
    effects = [
        {"fault": "stiff_running", "deviation": "sill_level_error", "doors": 932, "events": 49, "words": "stiff"}
    ]
    return {
        "callbacks": [row for row, _ in found], "faults": [fault for _, faults in found for fault in faults],
        "causes": causes, "effects": effects,
    }  # fmt: skip

"""The readings that count, one number a place: what the drawings are made of.

As the tables take them: readings up to the door's window; of several of one place the latest day, of one day their
mean; left, centre, right, bottom, middle, top as parts of the width or height; a lean's own zero at its lower end.
"""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from statistics import fmean
from typing import Any

from pipeline.door.trail import Row

ALONG_WIDTH = ("sill_height", "sill_line", "sill_tilt", "clear_height")
ALONG_HEIGHT = ("jamb_face", "jamb_edge")
PARTS = {"left": 0.0, "bottom": 0.0, "centre": 0.5, "middle": 0.5, "right": 1.0, "top": 1.0}
LEANS = ("deg", "mm/m")  # read against a plumb line, so they imply a zero at the foot
PLACES_THEMSELVES = ("fixing", "packer")


@dataclass(frozen=True)
class Spot:
    """One place read. at: mm along the member, None where not known; value: in the measure's unit."""

    member: str
    station: str
    at: float | None
    value: float


@dataclass(frozen=True)
class Read:
    """Everything read of one door that counts, by measure. width, height: mm, None where not known."""

    spots: dict[str, tuple[Spot, ...]]
    width: float | None
    height: float | None

    def of(self, measure: str, member: str | None = None) -> tuple[Spot, ...]:
        """The places of one measure, of one member where it is named."""
        return tuple(spot for spot in self.spots.get(measure, ()) if member is None or spot.member == member)

    def line(self, measure: str, member: str | None = None) -> tuple[tuple[float, float], ...]:
        """(mm along, value) of places whose position is known, in order along the member."""
        return tuple(sorted((spot.at, spot.value) for spot in self.of(measure, member) if spot.at is not None))

    def at(self, measure: str, member: str | None, station: str) -> float | None:
        """What was read at one named station, of one member where it is named."""
        return next((spot.value for spot in self.of(measure, member) if spot.station == station), None)


def read_of(readings: list[Row], width: float | None, height: float | None) -> Read:
    """What counts of the rows of a door's trail."""
    places: dict[tuple[str, str, str, float | None, int | float], list[Row]] = defaultdict(list)
    counted = [row for row in readings if row["state"] == "counts" and row["value"] is not None]
    for number, row in enumerate(counted):
        at = _position(row, width, height)
        places[row["measure"], row["member"] or "", row["station"] or "", at, _own(row, at, number)].append(row)
    spots: dict[str, list[Spot]] = defaultdict(list)
    for (measure, member, station, at, _), rows in _without_older(places).items():
        latest = max(_day(row) for row in rows)
        value = fmean(row["value"] for row in rows if _day(row) == latest)
        spots[measure].append(Spot(member, station, at, value))
    for measure, member in dict.fromkeys((row["measure"], row["member"] or "") for row in counted if _is_lean(row)):
        spots[measure].append(Spot(member, "", 0.0, 0.0))
    return Read({measure: tuple(found) for measure, found in spots.items()}, width, height)


def _is_lean(row: Row) -> bool:
    return row["written_unit"] in LEANS


def _day(row: Row) -> date:
    return row["read_on"] or date.min


def _own(row: Row, at: float | None, number: int) -> int | float:
    """What tells two places apart that are named alike: a fixing is where it is, others without a name their own."""
    if row["station"] is not None or (row["measure"] not in PLACES_THEMSELVES and at is not None):
        return -1
    return float(row["value"]) if row["measure"] in PLACES_THEMSELVES else number


def _without_older(places: dict[Any, list[Row]]) -> dict[Any, list[Row]]:
    """Of readings of a member that name no place the latest day counts whole."""
    latest: dict[tuple[str, str], date] = {}
    for (measure, member, station, at, _), rows in places.items():
        if not station and at is None and measure not in PLACES_THEMSELVES:
            latest[measure, member] = max(latest.get((measure, member), date.min), *(_day(row) for row in rows))
    return {
        key: rows
        for key, rows in places.items()
        if key[2] or key[3] is not None or _day(rows[0]) == latest.get(key[:2], _day(rows[0]))
    }


def _position(row: Row, width: float | None, height: float | None) -> float | None:
    if row["position_mm"] is not None or row["station"] is None:
        return row["position_mm"]
    length = width if row["measure"] in ALONG_WIDTH else height if row["measure"] in ALONG_HEIGHT else None
    part = _part(row["station"].lower())
    return None if length is None or part is None else length * part


def _part(station: str) -> float | None:
    if station.endswith("%"):
        try:
            return float(station[:-1]) / 100
        except ValueError:
            return None
    return PARTS.get(station)

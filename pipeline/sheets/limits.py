"""The limits that hold for a door of a size, as short words with their source. Decides nothing about readings."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from pipeline.catalogue.rows import Catalogue, Deviation, Limit
from pipeline.sheets.door import Door

UNIT_WORDS = {"mm": " mm", "N": " N", "°C": " °C", "count": "", "share": ""}


@dataclass(frozen=True)
class DoorLimit:
    """One limit at this door's size, in the deviation's unit. words: `sill level: at most 3 mm`.

    low, high  empty where it holds for one product or material only: the sheet does not know the door's
    """

    deviation: str
    low: float | None
    high: float | None
    words: str
    source: str


def limits_of(names: tuple[str, ...], door: Door, catalogue: Catalogue, today: date) -> tuple[DoorLimit, ...]:
    """The limits in use on these deviations for a door fitted today; those for one product or material say so."""
    return tuple(limit for name in names for limit in _of_deviation(name, door, catalogue, today))


def _of_deviation(name: str, door: Door, catalogue: Catalogue, today: date) -> Iterator[DoorLimit]:
    rows = [row for row in catalogue.limits if row.deviation == name and row.status == "in use"]
    rows = [row for row in rows if row.starts_on is None or row.starts_on <= today]
    own = [row for row in rows if row.is_own]
    latest: dict[tuple[str | None, str | None], Limit] = {}
    for row in sorted(own or rows, key=lambda row: row.starts_on or date.min):
        latest[row.product, row.material] = row
    deviation = catalogue.deviation(name)
    return (_at_size(row, door, deviation) for row in latest.values())


def _at_size(row: Limit, door: Door, deviation: Deviation) -> DoorLimit:
    unit = UNIT_WORDS.get(deviation.unit, "")
    highs = [] if row.high is None else [row.high]
    if row.high_per_m is not None:
        highs.append(row.high_per_m * (door.width if row.along == "width" else door.height) / 1000)
    high = min(highs, default=None)
    bounds = [f"at least {row.low:g}{unit}"] if row.low is not None else []
    bounds += [f"at most {high:.4g}{unit}"] if high is not None else []
    of = [word for word in (row.product, row.material) if word]
    name = f"{row.name}, {' '.join(of)}" if of else row.name
    source = ", ".join(part for part in (row.source, row.edition) if part) or "the firm's own limit"
    is_never = high == 0 and row.low is None
    words = f"{deviation.words}: never" if is_never else f"{name}: {' and '.join(bounds)}"
    return DoorLimit(row.deviation, None if of else row.low, None if of else high, words, source)


def gap_words(door: Door, catalogue: Catalogue) -> str:
    """The recommended gap per side for a door of this width, by material; says where the table ends."""
    rows = [gap for gap in catalogue.gaps if gap.over_mm < door.width <= gap.up_to_mm]
    if not rows:
        return "no published gap for so wide a door: ask the maker"
    named = {f"{row.colour} {row.material}" if row.colour else row.material: row.gap_mm for row in rows}
    return "gap a side, at least: " + ", ".join(f"{name} {gap:g} mm" for name, gap in named.items())


def least_gap(door: Door, catalogue: Catalogue) -> float | None:
    """The smallest gap that any material is recommended at this width, mm; None outside the table."""
    return min((gap.gap_mm for gap in catalogue.gaps if gap.over_mm < door.width <= gap.up_to_mm), default=None)

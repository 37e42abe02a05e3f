"""Columns whose name holds their unit (width_mm, leaf_weight_kg, hours): another unit in cell or heading is converted.

Where neither says a unit, only what is plausible in one unit alone is read.
"""

from collections.abc import Iterable
from functools import cache

from pipeline.catalogue import Unit, load_catalogue
from pipeline.ingest.records import NUMBER, Column
from pipeline.ingest.texts.units import Units

_HOURS = {
    "h": 1.0,
    "hr": 1.0,
    "hrs": 1.0,
    "hour": 1.0,
    "hours": 1.0,
    "m": 1 / 60,
    "min": 1 / 60,
    "mins": 1 / 60,
    "minutes": 1 / 60,
}
_LENGTHS = ("mm", "cm", "m", "in", "ft")


def own_unit(column: Column) -> str | None:
    """The unit that the name of a number column holds; None where it holds none."""
    if column.kind != NUMBER:
        return None
    if column.name == "hours":
        return "h"
    ending = column.name.rpartition("_")[2]
    return ending if ending in ("mm", "kg") else None


def factor(column: Column, text: str) -> float | None:
    """What a number in a unit as written is multiplied by to be in the column's own; None for a unit it cannot have."""
    own = own_unit(column)
    if own == "h":
        return _HOURS.get(text.casefold().rstrip("."))
    unit = known_units().find(text)
    if own is None or unit is None or unit.dimension != _named(own).dimension:
        return None
    return unit.factor / _named(own).factor


def fitting(column: Column, number: float) -> dict[str, float]:
    """The lengths in the column's own unit that a number can be, by the unit it would be written in."""
    if own_unit(column) != "mm":
        return {}
    return _within(((unit, number * _named(unit).factor) for unit in _LENGTHS), column.low, column.high)


@cache
def known_units() -> Units:
    """The built-in units; a firm has none of its own."""
    return Units(load_catalogue())


def _named(name: str) -> Unit:
    unit = known_units().find(name)
    assert unit is not None
    return unit


def _within(values: Iterable[tuple[str, float]], low: float | None, high: float | None) -> dict[str, float]:
    is_open = low is None or high is None
    return {} if is_open else {unit: value for unit, value in values if low <= value <= high}  # type: ignore[operator]

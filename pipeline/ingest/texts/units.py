"""Units as written: which a measure takes, and how a value in them becomes the measure's own unit."""

import math
from dataclasses import dataclass

from pipeline.catalogue import Catalogue, Measure, Unit
from pipeline.ingest.texts.words import any_of

SLOPE = "slope"


@dataclass(frozen=True)
class Conversion:
    """canonical = written x factor + offset, in `unit`. written_unit: None where the value stands as written.

    is_slope  the value is a lean: it becomes mm over a length, and factor and offset do not apply
    """

    unit: str
    factor: float = 1.0
    offset: float = 0.0
    written_unit: str | None = None
    is_slope: bool = False


class Units:
    """The catalogue's units, ready to judge cells. A unit is known by name or alias, in any case, a point behind it."""

    def __init__(self, catalogue: Catalogue) -> None:
        self.names = [unit.name for unit in catalogue.units]
        self._exact = {name: unit for unit in catalogue.units for name in (unit.name, *unit.aliases)}
        self._any_case = {_folded(name): unit for name, unit in reversed(self._exact.items())}
        self._canonical = {unit.dimension: unit for unit in reversed(catalogue.units) if _is_canonical(unit)}
        self._measures = {measure.name: measure for measure in catalogue.measures}

    def find(self, text: str) -> Unit | None:
        """The unit of that spelling; None where it is not known."""
        return self._exact.get(text) or self._any_case.get(_folded(text))

    def convert(self, measure_name: str, text: str) -> tuple[Conversion | None, str | None]:
        """How a reading of a measure in the unit as written is converted, or what is wrong with the unit."""
        measure = self._measures[measure_name]
        own, written = self.find(measure.unit), self.find(text)
        if _folded(text) == _folded(measure.unit) or (own is not None and written == own):
            return Conversion(measure.unit), None
        if written is None:
            return None, f"'{text}' is not a unit we know; write {self._taken(measure)}"
        if own is not None and written.dimension == own.dimension != SLOPE:
            factor, offset = written.factor / own.factor, (written.offset - own.offset) / own.factor
            return Conversion(measure.unit, factor, offset, written.name), None
        if written.dimension in measure.extra and written.dimension == SLOPE:
            return Conversion(measure.unit, written_unit=written.name, is_slope=True), None
        if written.dimension in measure.extra:
            return Conversion(measure.unit, written.factor, written.offset, written.name), None
        return None, f"{measure.name} is not measured in {written.name}; write {self._taken(measure)}"

    def is_metric(self, text: str) -> bool:
        """Whether a unit as written is a metric length, in which nobody writes fractions."""
        unit = self.find(text)
        return unit is not None and unit.dimension == "length" and unit.name not in ("in", "ft")

    def fitting(self, measure: Measure, value: float) -> list[str]:
        """The units in which a value of a measure is within its plausible bounds; each where it has no bounds."""
        own = self.find(measure.unit)
        dimensions = (own.dimension if own else None, *measure.extra)
        names = [unit.name for unit in dict.fromkeys(self._exact.values()) if unit.dimension in dimensions]
        found = []
        for name in names or [measure.unit]:
            how, _ = self.convert(measure.name, name)
            if how is None or how.is_slope or _is_within(measure, value * how.factor + how.offset):
                found.append(name)
        return found

    def is_plausible(self, measure: Measure, value: float, text: str) -> bool:
        """Whether a value in the unit as written is within a measure's bounds, if it has any; a lean always is."""
        how, _ = self.convert(measure.name, text)
        return how is None or how.is_slope or _is_within(measure, value * how.factor + how.offset)

    def convert_error(self, text: str) -> tuple[Conversion | None, str | None]:
        """How an instrument's error in the unit as written is converted: a size, so without offset; a lean in mm/m."""
        written = self.find(text)
        if written is None:
            return None, f"'{text}' is not a unit we know; write mm, mm/m, deg, N or another unit of the catalogue"
        if written.dimension == SLOPE:
            return Conversion("mm/m", written_unit=written.name, is_slope=True), None
        return Conversion(self._canonical[written.dimension].name, written.factor, 0.0, written.name), None

    def _taken(self, measure: Measure) -> str:
        own = self.find(measure.unit)
        dimensions = {own.dimension if own else "", *measure.extra}
        names = [unit.name for unit in self._exact.values() if unit.dimension in dimensions]
        return any_of(list(dict.fromkeys([measure.unit, *names])))


def in_inches(unit: str) -> str:
    """What to say of a fraction where the unit is said to be metric."""
    return f"fractions are of inches, and the unit is {unit}; write in beside the fraction, or decimals of {unit}"


def slope_per_length(value: float, unit: str) -> float:
    """mm of lean per mm of length, for a lean in degrees or in mm per metre."""
    return math.tan(math.radians(value)) if unit == "deg" else value / 1000.0


def _is_within(measure: Measure, value: float) -> bool:
    return (measure.low is None or value >= measure.low) and (measure.high is None or value <= measure.high)


def _is_canonical(unit: Unit) -> bool:
    return unit.factor == 1.0 and unit.offset == 0.0


def _folded(text: str) -> str:
    return " ".join(text.replace("_", " ").casefold().split()).rstrip(".")

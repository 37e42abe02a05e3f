"""Which deviations may adjust for which: step order, families, and acts before the geometry they produce."""

from dataclasses import dataclass, fields

import numpy as np
import polars as pl

from pipeline.stats.intervals import Floats


@dataclass(frozen=True)
class Place:
    """Where a deviation stands in the order of the work."""

    ordinal: int
    name: str
    step: str
    step_order: int
    role: str
    family: str
    kind: str
    worse: str
    per: float
    unit: str
    is_check: bool
    words: str
    minutes: float

    @property
    def is_lower_worse(self) -> bool:
        """Less of it is worse."""
        return self.worse == "lower"

    @property
    def sign(self) -> float:
        """1 where more of it is worse, -1 where less is."""
        return -1.0 if self.is_lower_worse else 1.0

    @property
    def in_order(self) -> tuple[int, bool, int]:
        """Sorts in the order of the work, acts of a step before its geometry."""
        return self.step_order, self.kind != "act", self.ordinal

    def better_first(self, low: float, high: float) -> tuple[float, float]:
        """The better and the worse of two values."""
        return (high, low) if self.is_lower_worse else (low, high)

    def beyond(self, values: Floats, limits: Floats) -> Floats:
        """How far values lie beyond their limits, signed as they are; 0 within, and nan where either is not known."""
        apart = values - limits
        return np.asarray(np.minimum(apart, 0) if self.is_lower_worse else np.maximum(apart, 0))


def places(catalogue_deviations: pl.DataFrame) -> dict[str, Place]:
    """Deviation name to its place, in the catalogue's order."""
    columns = [field.name for field in fields(Place) if field.name != "is_check"]
    return {
        row["name"]: Place(**{key: row[key] for key in columns}, is_check=row["how"] == "checks")
        for row in catalogue_deviations.sort("ordinal").iter_rows(named=True)
    }


def adjusters_of(target: Place, everything: dict[str, Place]) -> list[str]:
    """Names of the causes that the effect of `target` is adjusted for, in the catalogue's order.

    The causes of earlier steps, and of the same step unless target is an act and they are geometry; never the
    target's own family, never later steps: what a deviation brings about is how it works, not a rival to it.
    """
    return [
        place.name
        for place in everything.values()
        if place.role == "cause" and place.family != target.family and _comes_before(place, target)
    ]


def _comes_before(place: Place, target: Place) -> bool:
    if place.step_order != target.step_order:
        return place.step_order < target.step_order
    return place.kind == "act" or target.kind == "geometry"

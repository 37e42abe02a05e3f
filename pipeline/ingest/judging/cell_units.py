"""What stands beside the number of a reading, in its cell or its column's heading: its unit, or a side that has a sign.

Settles which unit holds for each row, and turns signs as the firm has declared; never guesses either.
"""

from dataclasses import dataclass, field
from decimal import Decimal
from functools import cached_property

import polars as pl

from pipeline.catalogue import Catalogue, Measure
from pipeline.ingest.judging.cell_signs import added, with_signs
from pipeline.ingest.judging.cells import in_doubt, is_fraction, problem_of, rule_of, side_in, text_of, unit_in
from pipeline.ingest.texts.manners import Manners
from pipeline.ingest.texts.units import Units, in_inches
from pipeline.ingest.texts.words import any_of, plain

UNIT_SAID = "unit said"
_SIDE = "side"
_ONLY_READING = "the only plausible reading"
_IN_CELL, _IN_HEADING = "unit in the cell", "unit in the heading"


@dataclass(frozen=True)
class CellUnits:
    """Settles unit and sign of judged readings. manners: how the columns of their sheet are written."""

    units: Units
    catalogue: Catalogue
    manners: Manners = field(default_factory=Manners)

    @property
    def heading(self) -> str | None:
        """The unit that the heading of `value` gives."""
        return self.manners.units.get("value")

    @cached_property
    def _measures(self) -> dict[str, Measure]:
        return {measure.name: measure for measure in self.catalogue.measures}

    def settle(self, frame: pl.DataFrame) -> pl.DataFrame:
        """The readings with `unit said` (text, null where no unit is), value signed, its rule and problem in line."""
        frame = self._with_said(frame)
        frame = with_signs(frame, self.catalogue.customs.signs, self.manners, _SIDE)
        return self._with_only_unit(frame).drop(_SIDE)

    def _with_said(self, frame: pl.DataFrame) -> pl.DataFrame:
        keys = ["measure", unit_in("value"), side_in("value"), is_fraction("value"), text_of("unit")]
        is_plain = pl.all_horizontal(
            pl.col(unit_in("value"), side_in("value")).is_null(), ~pl.col(is_fraction("value"))
        )
        if self.heading is None and frame.select(is_plain.fill_null(True).all()).item():
            said = pl.col(text_of("unit")).alias(UNIT_SAID)
            return self._out_of_doubt(frame.with_columns(said, pl.lit(None, pl.String).alias(_SIDE)))
        cases = frame.select(keys).unique(maintain_order=True)
        answers = [self._said(self._measures.get(name), *rest) for name, *rest in cases.rows()]
        schema = dict.fromkeys((UNIT_SAID, _SIDE, "more", "trouble"), pl.String)
        found = pl.DataFrame(answers, schema=schema, orient="row")
        frame = frame.join(
            pl.concat([cases, found], how="horizontal"), on=keys, how="left", nulls_equal=True, maintain_order="left"
        )
        frame = self._out_of_doubt(frame)
        has_number = pl.col("value").is_not_null()
        return frame.with_columns(
            added(rule_of("value"), pl.when(has_number).then(pl.col("more"))).alias(rule_of("value")),
            pl.coalesce(problem_of("value"), "trouble").alias(problem_of("value")),
        ).drop("more", "trouble")

    def _out_of_doubt(self, frame: pl.DataFrame) -> pl.DataFrame:
        """The readings; a number that can be two is the one that is plausible in the unit said, if the other is not."""
        keys = ["measure", UNIT_SAID, in_doubt("value")]
        cases = frame.select(keys).drop_nulls().unique(maintain_order=True)
        if not cases.height:
            return frame
        values = [self._only_plausible(self._measures[name], unit, number) for name, unit, number in cases.rows()]
        found = cases.with_columns(pl.Series("plausible", values, dtype=pl.Float64))
        frame = frame.join(found, on=keys, how="left", maintain_order="left")
        is_told = pl.col("plausible").is_not_null()
        return frame.with_columns(
            pl.coalesce("plausible", "value").alias("value"),
            added(rule_of("value"), pl.when(is_told).then(pl.lit(_ONLY_READING))).alias(rule_of("value")),
            pl.when(~is_told).then(pl.col(problem_of("value"))).alias(problem_of("value")),
        ).drop("plausible")

    def _only_plausible(self, measure: Measure, unit: str, number: float) -> float | None:
        """Of a number and 1,000 times as much, the one that is plausible in a unit; None where both are, or none is."""
        readings = (number, float(1000 * Decimal(repr(number))))
        plausible = [one for one in readings if self.units.is_plausible(measure, one, unit)]
        return plausible[0] if len(plausible) == 1 else None

    def _said(
        self,
        measure: Measure | None,
        in_cell: str | None,
        side: str | None,
        is_fraction: bool | None,
        in_column: str | None,
    ) -> tuple[str | None, str | None, str | None, str | None]:
        """(unit said, side, rule, what is wrong with the value)."""
        if in_cell and in_cell.casefold() == "in" and measure and measure.name in self.manners.in_or_out:
            in_cell, side = None, " ".join(filter(None, (side, in_cell)))
        if in_cell and not self._is_unit(measure, in_cell):
            in_cell, beside = self._parted(measure, in_cell)
            side = " ".join(filter(None, (side, beside)))
        said = in_cell or in_column or self.heading
        rule = _IN_CELL if in_cell else _IN_HEADING if said and not in_column else None
        trouble = self._contradiction(in_cell, in_column) or self._direction(measure, in_cell, in_column)
        if is_fraction and not in_cell and said and self.units.is_metric(said):
            trouble = trouble or in_inches(said)
        return said, side, rule, trouble

    def _parted(self, measure: Measure | None, words: str) -> tuple[str | None, str]:
        """(unit, side) of the words behind a number, such as `mm L`."""
        first, _, last = words.rpartition(" ")
        if first and self._is_unit(measure, first):
            return first, last
        return (last, first) if first and self._is_unit(measure, last) else (None, words)

    def _contradiction(self, in_cell: str | None, in_column: str | None) -> str | None:
        other = in_column or self.heading
        if not in_cell or not other or self._same(in_cell, other):
            return None
        place = "its unit column" if in_column else "the heading"
        return f"the cell says {in_cell} and {place} {other}; correct one of them"

    def _direction(self, measure: Measure | None, in_cell: str | None, in_column: str | None) -> str | None:
        is_signed = measure is not None and measure.low is not None and measure.low < 0
        other = in_column or self.heading
        if is_signed and in_cell and in_cell.casefold() == "in" and not other:
            return "'in' can be inches or a direction; write inches in the unit column, or the sign instead"
        return None

    def _same(self, one: str, other: str) -> bool:
        return self.units.find(one) == self.units.find(other) and (self.units.find(one) is not None or one == other)

    def _is_unit(self, measure: Measure | None, text: str) -> bool:
        return self.units.find(text) is not None or (measure is not None and plain(text) == plain(measure.unit))

    def _fitting(self, measure: Measure, value: float) -> list[str]:
        """The units in which a value is plausible; of lengths, zero is the same in each."""
        own = self.units.find(measure.unit)
        is_zero = value == 0 and own is not None and own.dimension == "length"
        return [measure.unit] if is_zero else self.units.fitting(measure, value)

    def _with_only_unit(self, frame: pl.DataFrame) -> pl.DataFrame:
        """Gives a number without any unit the one in which it is plausible, where there is only one."""
        is_open = pl.col(UNIT_SAID).is_null() & pl.col("value").is_not_null() & pl.col("measure").is_not_null()
        cases = frame.filter(is_open).select("measure", "value").unique(maintain_order=True)
        if not cases.height:
            return frame.with_columns(pl.lit(None, pl.String).alias("unit hint"))
        fits = [self._fitting(self._measures[name], value) for name, value in cases.rows()]
        found = cases.with_columns(
            pl.Series("only unit", [one[0] if len(one) == 1 else None for one in fits], dtype=pl.String),
            pl.Series("unit hint", [_hint(one) for one in fits], dtype=pl.String),
        )
        frame = frame.join(found, on=["measure", "value"], how="left", maintain_order="left")
        only = pl.when(is_open).then(pl.col("only unit"))
        return frame.with_columns(
            pl.coalesce(UNIT_SAID, only).alias(UNIT_SAID),
            added(rule_of("value"), pl.concat_str(only, pl.lit(", the only plausible unit"))).alias(rule_of("value")),
            pl.when(is_open).then(pl.col("unit hint")).alias("unit hint"),
        ).drop("only unit")


def _hint(units: list[str]) -> str | None:
    return f"; {any_of(units)} would be plausible" if len(units) > 1 else None

"""What only readings need: values into the measure's own unit, plausible bounds, leans into millimetres."""

from typing import Any

import polars as pl

from pipeline.catalogue import Catalogue, Measure
from pipeline.ingest.judging.cell_units import UNIT_SAID, CellUnits
from pipeline.ingest.judging.cells import problem_of, rule_of, unit_in
from pipeline.ingest.records import WITHIN
from pipeline.ingest.texts.manners import Manners
from pipeline.ingest.texts.numbers import WITHIN_RULE, bounds_problem
from pipeline.ingest.texts.units import Conversion, Units, slope_per_length
from pipeline.ingest.texts.words import any_of

WRITTEN_COLUMNS = ("written_value", "written_unit")
# mm per mm: beyond it no jamb or sill leans, whatever the length
_STEEPEST = 0.2
_TOO_STEEP = "this is not plausible; expected a lean of at most 200 mm/m, which is 11 deg; correct it or its unit"
_NO_LENGTH = "a lean needs the length it was read over; write it in position_mm, above zero"


def convert_values(
    frame: pl.DataFrame, units: Units, catalogue: Catalogue, manners: Manners | None = None
) -> pl.DataFrame:
    """The judged readings with `value` and `unit` canonical, written_value and written_unit beside them.

    manners  how the columns of their sheet are written

    A lean without position_mm keeps a null value: the door's own height or width makes it millimetres later. So does a
    reading that only says that it was within what was allowed, for ever; its written_unit is WITHIN.
    A unit that the measure does not take, or a value outside the measure's bounds, becomes that cell's problem.
    """
    frame = _with_default_member(frame, catalogue)
    frame = CellUnits(units, catalogue, manners or Manners()).settle(frame)
    frame = _with_conversions(frame, units)
    frame = frame.with_columns(pl.col("value").alias("written_value"))
    frame = _with_leans(frame)
    plain = pl.col("value") * pl.col("factor") + pl.col("offset")
    frame = frame.with_columns(pl.when(pl.col("is_slope")).then(pl.col("lean_mm")).otherwise(plain).alias("value"))
    frame = _with_bounds(frame, units, catalogue)
    is_converted = pl.col("written_unit").is_not_null()
    frame = frame.with_columns(pl.when(is_converted).then(pl.col("written_value")).alias("written_value"))
    return _with_within(frame, catalogue).drop("factor", "offset", "is_slope", "lean_mm")


def _with_within(frame: pl.DataFrame, catalogue: Catalogue) -> pl.DataFrame:
    """Marks what only says ok; without a unit it has its measure's, as it needs none."""
    is_within = (pl.col(rule_of("value")) == WITHIN_RULE).fill_null(False)
    own_units = {measure.name: measure.unit for measure in catalogue.measures}
    own_unit = pl.col("measure").replace_strict(own_units, default=None, return_dtype=pl.String)
    return frame.with_columns(
        pl.when(is_within).then(pl.lit(WITHIN)).otherwise(pl.col("written_unit")).alias("written_unit"),
        pl.when(is_within).then(pl.coalesce("unit", own_unit)).otherwise(pl.col("unit")).alias("unit"),
        pl.when(is_within).then(pl.coalesce(UNIT_SAID, own_unit)).otherwise(pl.col(UNIT_SAID)).alias(UNIT_SAID),
    )


def _with_default_member(frame: pl.DataFrame, catalogue: Catalogue) -> pl.DataFrame:
    members = {measure.name: measure.member for measure in catalogue.measures if measure.member}
    default = pl.col("measure").replace_strict(members, default=None, return_dtype=pl.String)
    return frame.with_columns(pl.coalesce("member", default).alias("member"))


def _with_conversions(frame: pl.DataFrame, units: Units) -> pl.DataFrame:
    pairs = frame.select("measure", UNIT_SAID).unique().drop_nulls()
    answers = [_answer(measure, text, *units.convert(measure, text)) for measure, text in pairs.rows()]
    schema = {
        "measure": pl.String,
        UNIT_SAID: pl.String,
        "unit": pl.String,
        "factor": pl.Float64,
        "offset": pl.Float64,
        "written_unit": pl.String,
        "is_slope": pl.Boolean,
        problem_of("unit"): pl.String,
    }
    conversions = pl.DataFrame(answers, schema=schema, orient="row")
    frame = frame.drop("unit", problem_of("unit"))
    frame = frame.join(conversions, on=["measure", UNIT_SAID], how="left", maintain_order="left")
    # a unit of the value's own cell is what is wrong with that cell
    in_cell = pl.col(unit_in("value")).is_not_null()
    return frame.with_columns(
        pl.coalesce(problem_of("value"), pl.when(in_cell).then(pl.col(problem_of("unit")))).alias(problem_of("value")),
        pl.when(~in_cell).then(pl.col(problem_of("unit"))).alias(problem_of("unit")),
    )


def _answer(measure: str, text: str, conversion: Conversion | None, problem: str | None) -> tuple[Any, ...]:
    if conversion is None:
        return measure, text, None, None, None, None, None, problem
    how = (conversion.unit, conversion.factor, conversion.offset, conversion.written_unit, conversion.is_slope)
    return measure, text, *how, None


def _with_leans(frame: pl.DataFrame) -> pl.DataFrame:
    """`lean_mm`: a lean over position_mm, in millimetres; a position of zero or less carries none."""
    is_lean = pl.col("is_slope").fill_null(False)
    values = frame.filter(is_lean).select("value", "written_unit").unique().drop_nulls()
    leans = values.with_columns(
        pl.Series("per_mm", [slope_per_length(value, unit) for value, unit in values.rows()], dtype=pl.Float64)
    )
    frame = frame.join(leans, on=["value", "written_unit"], how="left", maintain_order="left")
    has_no_length = is_lean & (pl.col("position_mm") <= 0)
    is_too_steep = is_lean & (pl.col("per_mm").abs() > _STEEPEST)
    problem = pl.when(is_too_steep).then(pl.lit(_TOO_STEEP)).when(has_no_length).then(pl.lit(_NO_LENGTH))
    return frame.with_columns(
        (pl.col("per_mm") * pl.col("position_mm")).alias("lean_mm"),
        problem.otherwise(problem_of("value")).alias(problem_of("value")),
    ).drop("per_mm")


def _with_bounds(frame: pl.DataFrame, units: Units, catalogue: Catalogue) -> pl.DataFrame:
    measures = {measure.name: measure for measure in catalogue.measures}
    bounds = pl.DataFrame(
        [(measure.name, measure.low, measure.high) for measure in catalogue.measures],
        schema={"measure": pl.String, "low": pl.Float64, "high": pl.Float64},
        orient="row",
    )
    frame = frame.join(bounds, on="measure", how="left", maintain_order="left")
    is_out = ((pl.col("value") < pl.col("low")) | (pl.col("value") > pl.col("high"))).fill_null(False)
    rows = frame.filter(is_out).select("row", "measure", "value", "written_value", UNIT_SAID).rows()
    problems = {row: _out_of_bounds(units, measures[name], *rest) for row, name, *rest in rows}
    problem = pl.col("row").replace_strict(problems, default=None, return_dtype=pl.String)
    frame = frame.with_columns(pl.coalesce(problem_of("value"), problem).alias(problem_of("value")))
    return frame.drop("low", "high")


def _out_of_bounds(units: Units, measure: Measure, value: float, written: float, unit: str) -> str | None:
    said = units.find(unit)
    others = [name for name in units.fitting(measure, written) if said is None or name != said.name]
    remedy = f"correct it, or its unit if it is in {any_of(others)}" if others else "correct it"
    return bounds_problem(value, measure.low, measure.high, measure.unit, remedy)

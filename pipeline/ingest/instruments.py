"""What only instruments need: the largest error in the canonical unit of its dimension, a lean in mm per metre."""

import polars as pl

from pipeline.ingest.cells import problem_of, text_of
from pipeline.ingest.units import Units, slope_per_length

_NO_UNIT = "an error without a unit cannot be used; write mm, mm/m, deg or another unit beside it"


def convert_errors(frame: pl.DataFrame, units: Units) -> pl.DataFrame:
    """The judged instruments with max_error and unit canonical; an error whose unit is not known is left empty."""
    rows = [_converted(units, *row) for row in frame.select("max_error", text_of("unit")).rows()]
    columns = list(zip(*rows, strict=True)) or [(), (), (), ()]
    error_problem = pl.Series(columns[3], dtype=pl.String)
    return frame.with_columns(
        pl.Series("max_error", columns[0], dtype=pl.Float64),
        pl.Series("unit", columns[1], dtype=pl.String),
        pl.Series(problem_of("unit"), columns[2], dtype=pl.String),
        pl.coalesce(pl.col(problem_of("max_error")), error_problem).alias(problem_of("max_error")),
    )


def _converted(
    units: Units, error: float | None, text: str | None
) -> tuple[float | None, str | None, str | None, str | None]:
    """(error, unit, what is wrong with the unit, what is wrong with the error)."""
    if text is None:
        return None, None, None, None if error is None else _NO_UNIT
    conversion, problem = units.convert_error(text)
    if conversion is None:
        return None, None, problem, None if error is None else _NO_UNIT
    if error is None:
        return None, conversion.unit, None, None
    if conversion.is_slope:
        return slope_per_length(error, conversion.written_unit or "") * 1000.0, conversion.unit, None, None
    return error * conversion.factor, conversion.unit, None, None

"""What only instruments need: the largest error in the canonical unit of its dimension, a lean in mm per metre."""

import polars as pl

from pipeline.ingest.judging.cells import is_fraction, problem_of, side_in, text_of, unit_in
from pipeline.ingest.texts.units import Units, in_inches, slope_per_length

_NO_UNIT = "an error without a unit cannot be used; write mm, mm/m, deg or another unit beside it"


def convert_errors(frame: pl.DataFrame, units: Units, heading: str | None = None) -> pl.DataFrame:
    """The judged instruments with max_error and unit canonical; an error whose unit is not known is left empty.

    heading  the unit that the heading of `max_error` gives
    """
    beside = (unit_in("max_error"), side_in("max_error"), is_fraction("max_error"))
    rows = [_judged(units, heading, *row) for row in frame.select("max_error", text_of("unit"), *beside).rows()]
    columns = list(zip(*rows, strict=True)) or [(), (), (), ()]
    error_problem = pl.Series(columns[3], dtype=pl.String)
    return frame.with_columns(
        pl.Series("max_error", columns[0], dtype=pl.Float64),
        pl.Series("unit", columns[1], dtype=pl.String),
        pl.Series(problem_of("unit"), columns[2], dtype=pl.String),
        pl.coalesce(pl.col(problem_of("max_error")), error_problem).alias(problem_of("max_error")),
    )


_Answer = tuple[float | None, str | None, str | None, str | None]


def _judged(
    units: Units,
    heading: str | None,
    error: float | None,
    text: str | None,
    in_cell: str | None,
    side: str | None,
    is_fraction: bool | None,
) -> _Answer:
    """(error, unit, what is wrong with the unit, what is wrong with the error)."""
    word = side or (in_cell if in_cell and units.find(in_cell) is None else None)
    if word:
        return None, None, None, f"'{word}' is not a unit we know; write the error alone, and its unit beside it"
    other = text or heading
    if in_cell and other and units.find(in_cell) != units.find(other):
        place = "its unit column" if text else "the heading"
        return None, None, None, f"the cell says {in_cell} and {place} {other}; correct one of them"
    if is_fraction and not in_cell and other and units.is_metric(other):
        return None, None, None, in_inches(other)
    return _converted(units, error, in_cell or other)


def _converted(units: Units, error: float | None, text: str | None) -> _Answer:
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

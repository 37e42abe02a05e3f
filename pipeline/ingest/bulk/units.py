"""Units of readings on the typed path: one question per measure and unit, not one per row."""

from typing import TYPE_CHECKING, Any

import polars as pl

from pipeline.catalogue import Catalogue, Measure
from pipeline.ingest.history.store import with_frame
from pipeline.ingest.texts.units import Conversion, Units

if TYPE_CHECKING:
    import duckdb


def convert_landed(connection: "duckdb.DuckDBPyConnection", catalogue: Catalogue, table: str) -> None:
    """Converts the values of a landed table in place, fills the member where only one is possible, checks bounds.

    Rows whose measure or unit is not written exactly as in the catalogue, leans, and values outside the bounds of
    their measure are added to the temporary table `unsure`.
    """
    units = Units(catalogue)
    measures = {measure.name: measure for measure in catalogue.measures}
    conversions = []
    of_pair = "measure = ? AND unit = ?"
    for measure, unit, low, high in _pairs(connection, table):
        how = _exactly(units, measures, measure, unit)
        outside = _outside(measures[measure], how, low, high) if how else "true"
        if outside:
            found = f"SELECT rowid FROM {table} WHERE {of_pair} AND ({outside})"
            connection.execute(f"INSERT INTO unsure {found}", [measure, unit])
        if how and how.written_unit is not None:
            conversions.append((measure, unit, how.factor, how.offset, how.unit))
    if conversions:
        _convert(connection, table, conversions)
    _fill_members(connection, catalogue, table)


def _pairs(connection: "duckdb.DuckDBPyConnection", table: str) -> list[tuple[Any, ...]]:
    """(measure, unit, lowest and highest certain value), units as written."""
    certain = '"value" BETWEEN -1e300 AND 1e300'
    return connection.execute(
        f'SELECT measure, unit, min("value"), max("value") FROM {table} WHERE {certain} GROUP BY ALL ORDER BY ALL'
    ).fetchall()


def _exactly(units: Units, measures: dict[str, Measure], measure: str, text: str) -> Conversion | None:
    """How a pair is converted; None for a lean, and for what is not written exactly as in the catalogue."""
    if measure not in measures or text is None:
        return None
    how, _ = units.convert(measure, text)
    if how is None or how.is_slope or text != (how.written_unit or how.unit):
        return None
    return how


def _convert(connection: "duckdb.DuckDBPyConnection", table: str, conversions: list[tuple[Any, ...]]) -> None:
    schema = {"measure": pl.String, "text": pl.String, "factor": pl.Float64, "shift": pl.Float64, "unit": pl.String}
    connection.execute(f"ALTER TABLE {table} ADD COLUMN IF NOT EXISTS written_value DOUBLE")
    connection.execute(f"ALTER TABLE {table} ADD COLUMN IF NOT EXISTS written_unit TEXT")
    with_frame(
        connection,
        pl.DataFrame(conversions, schema=schema, orient="row"),
        f'UPDATE {table} SET written_value = {table}."value", written_unit = c.text, '
        f'"value" = {table}."value" * c.factor + c.shift, unit = c.unit '
        f"FROM incoming AS c WHERE c.measure = {table}.measure AND c.text = {table}.unit",
    )


def _fill_members(connection: "duckdb.DuckDBPyConnection", catalogue: Catalogue, table: str) -> None:
    members = {measure.name: measure.member for measure in catalogue.measures if measure.member}
    connection.execute(f"ALTER TABLE {table} ADD COLUMN IF NOT EXISTS member TEXT")
    frame = pl.DataFrame({"measure": list(members), "member": list(members.values())})
    with_frame(
        connection,
        frame,
        f"UPDATE {table} SET member = c.member FROM incoming AS c "
        f"WHERE {table}.member IS NULL AND c.measure = {table}.measure",
    )


def _outside(measure: Measure, how: Conversion, low: float, high: float) -> str:
    """SQL of the values that are outside the measure's bounds once converted; empty where none from low to high is."""
    conditions = []
    if measure.low is not None and low * how.factor + how.offset < measure.low:
        conditions.append(f'"value" * {how.factor!r} + {how.offset!r} < {measure.low!r}')
    if measure.high is not None and high * how.factor + how.offset > measure.high:
        conditions.append(f'"value" * {how.factor!r} + {how.offset!r} > {measure.high!r}')
    return " OR ".join(conditions)

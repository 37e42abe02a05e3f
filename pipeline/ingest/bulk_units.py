"""Units of readings on the typed path: one question per measure and unit, not one per row."""

from typing import TYPE_CHECKING, Any

from pipeline.catalogue import Catalogue, Measure
from pipeline.ingest.units import Conversion, Units

if TYPE_CHECKING:
    import duckdb


def convert_landed(connection: "duckdb.DuckDBPyConnection", catalogue: Catalogue, table: str) -> None:
    """Converts the values of a landed table in place, fills the member where only one is possible, checks bounds.

    Rows whose measure or unit is not written exactly as in the catalogue, leans, and values outside the bounds of
    their measure are added to the temporary table `unsure`.
    """
    units = Units(catalogue)
    measures = {measure.name: measure for measure in catalogue.measures}
    of_pair = "measure = ? AND unit = ?"
    for measure, unit, low, high in _pairs(connection, table):
        how = _exactly(units, measures, measure, unit)
        if how is None:
            connection.execute(f"INSERT INTO unsure SELECT rowid FROM {table} WHERE {of_pair}", [measure, unit])
            continue
        if how.written_unit is not None:
            _convert(connection, table, how, [measure, unit])
        outside = _outside(measures[measure], low * how.factor + how.offset, high * how.factor + how.offset)
        if outside:
            found = f"SELECT rowid FROM {table} WHERE {of_pair} AND ({outside})"
            connection.execute(f"INSERT INTO unsure {found}", [measure, how.unit])
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


def _convert(connection: "duckdb.DuckDBPyConnection", table: str, how: Conversion, pair: list[Any]) -> None:
    connection.execute(f"ALTER TABLE {table} ADD COLUMN IF NOT EXISTS written_value DOUBLE")
    connection.execute(f"ALTER TABLE {table} ADD COLUMN IF NOT EXISTS written_unit TEXT")
    connection.execute(
        f'UPDATE {table} SET written_value = "value", written_unit = ?, '
        '"value" = "value" * ?::DOUBLE + ?::DOUBLE, unit = ? WHERE measure = ? AND unit = ?',
        [how.written_unit, how.factor, how.offset, how.unit, *pair],
    )


def _fill_members(connection: "duckdb.DuckDBPyConnection", catalogue: Catalogue, table: str) -> None:
    for measure in catalogue.measures:
        if measure.member:
            connection.execute(f"ALTER TABLE {table} ADD COLUMN IF NOT EXISTS member TEXT")
            connection.execute(
                f"UPDATE {table} SET member = ? WHERE measure = ? AND member IS NULL", [measure.member, measure.name]
            )


def _outside(measure: Measure, low: float, high: float) -> str:
    """SQL of the values outside the measure's bounds; empty where none of the values from low to high is."""
    conditions = []
    if measure.low is not None and low < measure.low:
        conditions.append(f'"value" < {measure.low}')
    if measure.high is not None and high > measure.high:
        conditions.append(f'"value" > {measure.high}')
    return " OR ".join(conditions)

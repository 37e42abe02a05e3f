"""Units of readings on the typed path: one question per measure and unit, not one per row."""

from typing import TYPE_CHECKING, Any

from pipeline.catalogue import Catalogue, Measure
from pipeline.ingest.store import UNSURE
from pipeline.ingest.units import Conversion, Units

if TYPE_CHECKING:
    import duckdb


def convert_landed(connection: "duckdb.DuckDBPyConnection", catalogue: Catalogue, load: int) -> None:
    """Converts the values of a load in place, fills the member where only one is possible, and checks bounds.

    Rows whose measure or unit is not written exactly as in the catalogue, leans, and values outside the bounds of
    their measure become UNSURE.
    """
    units = Units(catalogue)
    measures = {measure.name: measure for measure in catalogue.measures}

    def change(assignment: str, condition: str, values: list[Any]) -> None:
        where = f"load = {load} AND measure = ? AND unit = ?{condition}"
        connection.execute(f"UPDATE readings_rows SET {assignment} WHERE {where}", values)

    for measure, unit, low, high, has_no_member in _pairs(connection, load):
        how = _exactly(units, measures, measure, unit)
        if how is None:
            change(f"state = {UNSURE}", "", [measure, unit])
            continue
        if how.written_unit is not None:
            change(*_conversion(how, [measure, unit]))
        member = measures[measure].member
        if has_no_member and member:
            change("member = ?", " AND member IS NULL", [member, measure, how.unit])
        outside = _outside(measures[measure], low * how.factor + how.offset, high * how.factor + how.offset)
        if outside:
            change(f"state = {UNSURE}", f" AND ({outside})", [measure, how.unit])


def _pairs(connection: "duckdb.DuckDBPyConnection", load: int) -> list[tuple[Any, ...]]:
    """(measure, unit, lowest and highest value, whether a member is missing), units as written."""
    return connection.execute(
        f"""
        SELECT measure, unit, min("value"), max("value"), count(*) > count(member)
        FROM readings_rows WHERE load = {load} AND state <> {UNSURE} GROUP BY ALL ORDER BY ALL
        """
    ).fetchall()


def _exactly(units: Units, measures: dict[str, Measure], measure: str, text: str) -> Conversion | None:
    """How a pair is converted; None for a lean, and for what is not written exactly as in the catalogue."""
    if measure not in measures:
        return None
    how, _ = units.convert(measure, text)
    if how is None or how.is_slope or text != (how.written_unit or how.unit):
        return None
    return how


def _conversion(how: Conversion, pair: list[Any]) -> tuple[str, str, list[Any]]:
    assignment = 'written_value = "value", written_unit = ?, "value" = "value" * ?::DOUBLE + ?::DOUBLE, unit = ?'
    return assignment, "", [how.written_unit, how.factor, how.offset, how.unit, *pair]


def _outside(measure: Measure, low: float, high: float) -> str:
    """SQL of the values outside the measure's bounds; empty where none of the values from low to high is."""
    conditions = []
    if measure.low is not None and low < measure.low:
        conditions.append(f'"value" < {measure.low}')
    if measure.high is not None and high > measure.high:
        conditions.append(f'"value" > {measure.high}')
    return " OR ".join(conditions)

"""Holds the project's tables against those of the reference script."""

from pathlib import Path

import duckdb
import numpy as np
import pandas as pd

COMPARED = {
    "door_time": ("install_id", "door_years"),
    "callback_rates": ("crew", "doors", "door_years", "callbacks", "rate", "rate_low", "rate_high", "expected"),
    "effects": ("fault", "deviation", "hazard_ratio", "hr_low", "hr_high", "p_value"),
}
KEYS = {"install_id", "crew", "fault", "deviation"}
REFERENCE_NAMES = {"callback_rates": "rates"}


def largest_differences(results: Path, reference: Path) -> dict[str, float]:
    """Largest relative difference of every number, by table and column; absolute below 1.

    Raises AssertionError where a row of the reference is not in the results.
    """
    found: dict[str, float] = {}
    with duckdb.connect(str(results), read_only=True) as connection:
        ours = _deviations(connection)
        theirs = pd.read_parquet(reference / "deviations.parquet")
        for name in theirs.columns:
            found[f"deviations.{name}"] = _difference(ours[name].reindex(theirs.index), theirs[name])
        for table, columns in COMPARED.items():
            found |= _compare(connection, (table, columns), reference)
    return found


def _deviations(connection: duckdb.DuckDBPyConnection) -> pd.DataFrame:
    long = connection.sql('SELECT install_id, deviation, "value" FROM deviations').df()
    return long.pivot(index="install_id", columns="deviation", values="value")


def _compare(
    connection: duckdb.DuckDBPyConnection, what: tuple[str, tuple[str, ...]], reference: Path
) -> dict[str, float]:
    table, columns = what
    keys = [name for name in columns if name in KEYS]
    ours = connection.sql(f"SELECT {', '.join(columns)} FROM {table}").df().set_index(keys)
    frame = pd.read_parquet(reference / f"{REFERENCE_NAMES.get(table, table)}.parquet").reset_index()
    theirs = frame.set_index(keys)
    ours = ours.reindex(theirs.index)
    return {f"{table}.{name}": _difference(ours[name], theirs[name]) for name in columns if name not in KEYS}


def _difference(ours: pd.Series, theirs: pd.Series) -> float:
    one, other = ours.to_numpy(dtype=float), theirs.to_numpy(dtype=float)
    assert (np.isnan(one) == np.isnan(other)).all(), f"{theirs.name} is missing in different rows"
    return float(np.nanmax(np.abs(one - other) / np.maximum(np.abs(other), 1.0)))

"""Scores pairs of a callback and a door with splink, on a database in memory of its own. Keeps nothing."""

import logging
from pathlib import Path
from typing import TYPE_CHECKING

import polars as pl

from pipeline.ingest.linking.chances import chances_of, day_chances
from pipeline.ingest.linking.comparisons import DAY_BOUNDS, settings_of
from pipeline.warehouse import connect

if TYPE_CHECKING:
    import duckdb
    from splink import SettingsCreator

# Chance, before anything is compared, that a callback comes from one of the firm's doors on record.
FROM_OUR_DOORS = 0.9
_LEAST_WEIGHT = -4.0
_EVIDENCE = ("place", "surname", "initial", "job", "days", "removal", "leaves", "width")


def scored_pairs(callbacks: pl.DataFrame, doors: pl.DataFrame, temporary: Path) -> pl.DataFrame:
    """Pairs worth considering: callback_id, install_id, site, weight (log2 odds), and a column of levels each.

    callbacks, doors  as in `features.py`. A level column holds -1 where one side is not written, 0 for the rest,
                      higher for better agreement
    temporary         folder for what does not fit into memory; emptied at the end
    """
    chances = chances_of(doors)
    prior = 1 / (1 + chances.n_doors * (1 - FROM_OUR_DOORS) / FROM_OUR_DOORS)
    settings = settings_of(chances, day_chances(callbacks, doors, DAY_BOUNDS), prior)
    levels = ", ".join(f"gamma_{name} AS {name}" for name in _EVIDENCE)
    logging.getLogger("splink").setLevel(logging.ERROR)
    connection = connect(temporary)
    try:
        found = _predicted(connection, callbacks, doors, settings)
        return connection.sql(
            f"SELECT unique_id_l AS callback_id, unique_id_r AS install_id, site_r AS site, match_weight AS weight, "
            f"{levels} FROM {found} ORDER BY callback_id, install_id"
        ).pl()
    finally:
        connection.close()


def _predicted(
    connection: "duckdb.DuckDBPyConnection",
    callbacks: pl.DataFrame,
    doors: pl.DataFrame,
    settings: "SettingsCreator",
) -> str:
    """Name of the table of scored pairs. Splink takes the table whose name comes first as the left side."""
    from splink import Linker
    from splink.backends.duckdb import DuckDBAPI

    database = DuckDBAPI(connection)
    sides = [
        database.register(callbacks.to_arrow(), dataset_display_name="a_callbacks"),
        database.register(doors.to_arrow(), dataset_display_name="b_doors"),
    ]
    linker = Linker(sides, settings, log_level=None, validate_settings=False)
    return str(linker.inference.predict(threshold_match_weight=_LEAST_WEIGHT, warning_mode="never").physical_name)

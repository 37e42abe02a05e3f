"""What is compared: one row per door and per callback, the personal cells in plain parts. Lives in memory only."""

from typing import TYPE_CHECKING

import polars as pl

from pipeline.ingest.linking.job_numbers import JOB_OF_DOOR
from pipeline.ingest.linking.names import name_of
from pipeline.ingest.linking.notes import leaves_in, width_in
from pipeline.ingest.linking.places import place_of

if TYPE_CHECKING:
    import duckdb

_DOORS = f"""
    SELECT installs.install_id AS unique_id, j.job_key, p.customer, p.address, p.postcode AS postcode_written,
           CAST(NULL AS TEXT) AS note, CAST(NULL AS DATE) AS reported_on,
           coalesce(installs.handed_over_on, installs.fitted_on) AS started_on, installs.removed_on,
           installs.leaves, installs.width_mm
    FROM installs
    LEFT JOIN people.install_people AS p USING (install_id)
    LEFT JOIN job_numbers AS j ON j.job_no = {JOB_OF_DOOR}
    ORDER BY unique_id
"""
_CALLBACKS = """
    SELECT callbacks.callback_id AS unique_id, j.job_key, p.customer, p.address, p.postcode AS postcode_written,
           p.note, callbacks.reported_on, CAST(NULL AS DATE) AS started_on, CAST(NULL AS DATE) AS removed_on,
           CAST(NULL AS INTEGER) AS leaves, CAST(NULL AS DOUBLE) AS width_mm
    FROM callbacks
    LEFT JOIN people.callback_people AS p USING (callback_id)
    LEFT JOIN job_numbers AS j ON j.job_no = callbacks.job_no
    WHERE callbacks.install_id IS NULL
    ORDER BY unique_id
"""
_PARTS = dict.fromkeys(("surname", "initial", "whole", "flat", "house", "street", "postcode", "outward"), pl.String)


def door_features(connection: "duckdb.DuckDBPyConnection") -> pl.DataFrame:
    """One row per door: unique_id, its parts, its days, leaves, width, and site (a house: its first door's id)."""
    doors = _with_parts(connection.sql(_DOORS).pl())
    house = pl.concat_str(pl.col("postcode", "flat", "house", "street").fill_null(""), separator="|")
    person = pl.concat_str(pl.col("postcode", "surname", "initial").fill_null(""), separator="|")
    site = (
        pl.when(pl.col("house").is_not_null() & pl.col("street").is_not_null())
        .then(house)
        .when(pl.col("surname").is_not_null() & pl.col("postcode").is_not_null())
        .then(person)
        .when(pl.col("job_key").is_not_null())
        .then(pl.lit("job ") + pl.col("job_key"))
        .otherwise(pl.col("unique_id"))
    )
    return doors.with_columns(pl.col("unique_id").min().over(site).alias("site"))


def callback_features(connection: "duckdb.DuckDBPyConnection") -> pl.DataFrame:
    """One row per callback that names no door: the same columns, leaves and width as its note says."""
    callbacks = _with_parts(connection.sql(_CALLBACKS).pl(), with_note=True)
    return callbacks.with_columns(pl.lit(None, pl.String).alias("site"))


def _with_parts(frame: pl.DataFrame, with_note: bool = False) -> pl.DataFrame:
    rows = [
        (*name_of(customer), *place_of(address, code))
        for customer, address, code in frame.select("customer", "address", "postcode_written").iter_rows()
    ]
    parts = pl.DataFrame(rows, schema=_PARTS, orient="row")
    if with_note:
        notes = frame["note"]
        frame = frame.with_columns(
            pl.Series("leaves", [leaves_in(note) for note in notes], pl.Int32),
            pl.Series("width_mm", [width_in(note) for note in notes], pl.Float64),
        )
    return pl.concat([frame.drop("customer", "address", "postcode_written", "note"), parts], how="horizontal")

"""Callbacks whose job number alone names their door, unless what else is written speaks against it.

A job number with two digits exchanged is often another job's number, so it is believed only where name and place,
as far as both sides have them written, do not contradict it. The others are weighed like callbacks without a number.
"""

import polars as pl

_ONE_JOB_ONE_DOOR = "FROM doors WHERE job_key IS NOT NULL QUALIFY count(*) OVER (PARTITION BY job_key) = 1"
# Sound: of surname, postcode and street, those written on both sides, all agree or at least two do.
_SOUND = f"""
    WITH jobs AS ({_ONE_JOB_ONE_DOOR}),
    compared AS (
        SELECT c.unique_id, [
            jaro_winkler_similarity(c.surname, d.surname) >= 0.9,
            damerau_levenshtein(c.postcode, d.postcode) <= 1,
            jaro_winkler_similarity(c.street, d.street) >= 0.88] AS agrees
        FROM callbacks AS c JOIN jobs AS d ON d.job_key = c.job_key)
    SELECT unique_id FROM compared
    WHERE NOT coalesce(list_contains(agrees, false), false) OR len(list_filter(agrees, lambda one: one)) >= 2
"""


def without_sound_job(callbacks: pl.DataFrame, doors: pl.DataFrame) -> pl.DataFrame:
    """The callbacks that their job number does not link: none, one of several doors, or one that is contradicted.

    callbacks, doors  as in `features.py`
    """
    import duckdb

    with duckdb.connect(":memory:") as connection:
        connection.register("callbacks", callbacks)
        connection.register("doors", doors)
        sound = connection.sql(_SOUND).pl()
    return callbacks.join(sound, on="unique_id", how="anti", maintain_order="left")

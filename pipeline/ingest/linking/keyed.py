"""Callbacks whose job number alone names their door, unless what else is written speaks against it.

A job number with two digits exchanged is often another job's number, so it is believed only where name and place,
as far as both sides have them written, do not contradict it.
"""

import polars as pl

_NEAR = 0.85
# Sound: nothing to compare, or at least one of what can be compared agrees.
_SOUND = f"""
    WITH jobs AS (FROM doors WHERE job_key IS NOT NULL QUALIFY count(*) OVER (PARTITION BY job_key) = 1)
    SELECT c.unique_id
    FROM callbacks AS c JOIN jobs AS d ON d.job_key = c.job_key
    WHERE coalesce(greatest(
        jaro_winkler_similarity(c.surname, d.surname), jaro_winkler_similarity(c.postcode, d.postcode),
        jaro_winkler_similarity(c.street, d.street)), 1) >= {_NEAR}
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

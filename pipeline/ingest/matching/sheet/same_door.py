"""Rows of a sheet that go on with the door of the row above."""

import polars as pl


def same_door(rows: pl.DataFrame) -> pl.DataFrame:
    """Rows that go on with a door say of it what its first row says, where they are silent."""
    if "install_id" not in rows.columns or not rows["install_id"].is_duplicated().any():
        return rows
    names = [name for name in rows.columns if name not in ("row", "install_id")]
    return rows.with_columns(pl.col(name).replace("", None).forward_fill().over("install_id") for name in names)

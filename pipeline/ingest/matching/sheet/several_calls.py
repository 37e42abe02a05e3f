"""Callbacks side by side in the row of a door: a group of columns for the first call back, another for the second."""

from dataclasses import replace

import polars as pl

from pipeline.ingest.declared.mapping import RecordMap
from pipeline.ingest.history.row_keys import row_key
from pipeline.ingest.matching.sheet.body import Cells
from pipeline.ingest.matching.sheet.made_numbers import numbers_of_rows
from pipeline.ingest.records import Record
from pipeline.ingest.texts.not_said import NOTHING


def calls_apart(record_map: RecordMap) -> list[RecordMap]:
    """A map for every group, with what the row says of all of them."""
    return [replace(record_map, columns=(*record_map.columns, *group), groups=()) for group in record_map.groups]


def place_of(record_map: RecordMap, number: int, cells: Cells) -> int:
    """The column that tells the rows of a group from those of another: its first."""
    headings = [heading for _, source in record_map.groups[number] for heading in source.headings]
    return cells.place(headings[0]) if headings else number + 1


def rows_of_calls(rows: pl.DataFrame, group: tuple[str, ...], place: int) -> pl.DataFrame:
    """The rows in which a group says something, with keys of their own. group: the columns that it says."""
    nothing = ["", *NOTHING]
    says = pl.any_horizontal(~pl.col(name).fill_null("").str.to_lowercase().is_in(nothing) for name in group)
    return rows.filter(says).with_columns(pl.col("row") + row_key(0, place))


def numbered(record: Record, rows: pl.DataFrame) -> pl.DataFrame:
    """The calls of all groups, their numbers made anew: two that say the same of who, when and what are told apart."""
    key = record.key[0]
    columns = {name: rows[name].fill_null("").to_list() for name in rows.columns if name not in ("row", key)}
    return rows.with_columns(pl.Series(key, numbers_of_rows(record, columns), dtype=pl.String))

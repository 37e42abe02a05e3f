"""Tables as they stand on paper: every cell a text, and ways to spoil some of them."""

from collections.abc import Sequence

import numpy as np
import polars as pl

from pipeline.demo.arrays import Ints


def as_text(table: pl.DataFrame) -> pl.DataFrame:
    """Every cell as it is typed: ISO dates, numbers without idle decimals, empty where there is nothing."""
    numbers = pl.selectors.float()
    return table.with_columns(numbers.cast(pl.String).str.strip_suffix(".0")).cast(pl.String)


def chance_rows(table: pl.DataFrame, share: float, rng: np.random.Generator) -> Ints:
    """Some row numbers, in order; at least one where the share is above 0 and there is a row."""
    count = min(table.height, max(round(share * table.height), 1)) if share > 0 else 0
    return np.sort(rng.choice(table.height, count, replace=False)).astype(np.int64)


def overwrite(table: pl.DataFrame, column: str, rows: Ints, words: Sequence[str | None]) -> pl.DataFrame:
    """The same table with words, in turn, in some cells of a column."""
    cells = table[column].to_list()
    for number, row in enumerate(rows):
        cells[row] = words[number % len(words)]
    return table.with_columns(pl.Series(column, cells, dtype=pl.String))


def blank(table: pl.DataFrame, column: str, share: float, rng: np.random.Generator) -> pl.DataFrame:
    """The same table with some cells of a column empty."""
    return overwrite(table, column, chance_rows(table, share, rng), [None])


def repeat_some(table: pl.DataFrame, rows: Ints) -> pl.DataFrame:
    """The same table with some rows written twice, the second time at the end."""
    return pl.concat([table, table[rows.tolist()]])


def contradict_some(table: pl.DataFrame, rows: Ints, column: str, word: str) -> pl.DataFrame:
    """The same table with some rows written again with another word in one column."""
    again = table[rows.tolist()].with_columns(pl.lit(word).alias(column))
    return pl.concat([table, again])

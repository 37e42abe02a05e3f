"""The array types of the simulator, and picking words by number."""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import polars as pl

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Flags = npt.NDArray[np.bool_]


def words_at(words: Sequence[str | None], numbers: Ints) -> pl.Series:
    """The word of each number, as a text column; -1 and None give null."""
    table = pl.Series([None, *words], dtype=pl.String)
    return table.gather(np.asarray(numbers) + 1)


def pick(shares: dict[str, float], size: int, rng: np.random.Generator) -> pl.Series:
    """Words drawn by their shares."""
    weights = np.array(list(shares.values()))
    return words_at(list(shares), rng.choice(len(shares), size, p=weights / weights.sum()))

"""Days as numbers, and back."""

from datetime import date, timedelta

import numpy as np
import polars as pl
from numpy.typing import NDArray

Ints = NDArray[np.int64]
EPOCH = date(1970, 1, 1)


def day_number(day: date) -> int:
    """Days since 1 January 1970."""
    return (day - EPOCH).days


def day_of(number: int | np.int64) -> date:
    """The day of a number."""
    return EPOCH + timedelta(days=int(number))


def numbers_of(days: pl.Series) -> Ints:
    """Day numbers of a column of dates without gaps."""
    return days.to_physical().to_numpy().astype(np.int64)

"""Some neighbouring doors with their true deviations, and the blocks of readings that geometry makes of them."""

from dataclasses import dataclass

import numpy as np
import polars as pl

from pipeline.demo.arrays import Floats, Ints

BLOCK_SCHEMA = {
    "door": pl.Int64,
    "measure": pl.String,
    "member": pl.String,
    "station": pl.String,
    "position_mm": pl.Float64,
    "value": pl.Float64,
}


@dataclass(frozen=True)
class Part:
    """number: door numbers, neighbours; lengths in mm; gap_mm: the recommended gap to the wall; true: by deviation."""

    number: Ints
    width: Floats
    height: Floats
    leaves: Ints
    leaf_weight: Floats
    gap_mm: Floats
    true: dict[str, Floats]

    @property
    def leaf_width(self) -> Floats:
        """Width of one leaf, mm."""
        return self.width / self.leaves


def block(
    part: Part,
    measure: str,
    value: Floats,
    member: str | pl.Series | None = None,
    station: str | pl.Series | None = None,
    position: Floats | None = None,
) -> pl.DataFrame:
    """Readings of one measure, one row for each value that is not NaN.

    value     shape (doors,) or (doors, places); position the same shape
    member, station   one word for all, or one for each place (length places)
    """
    value = value.reshape(len(part.number), -1)
    places = value.shape[1]
    flat = value.ravel()
    return pl.DataFrame(
        {
            "door": np.repeat(part.number, places),
            "measure": pl.repeat(measure, len(flat), eager=True),
            "member": _spread(member, len(part.number), places),
            "station": _spread(station, len(part.number), places),
            "position_mm": _no_position(len(flat)) if position is None else position.ravel(),
            "value": flat,
        },
        schema=BLOCK_SCHEMA,
    ).filter(pl.col("value").is_not_nan())


def _spread(words: str | pl.Series | None, doors: int, places: int) -> pl.Series:
    if isinstance(words, pl.Series):
        return words.gather(np.tile(np.arange(places), doors))
    return pl.repeat(words, doors * places, dtype=pl.String, eager=True)


def _no_position(rows: int) -> pl.Series:
    return pl.repeat(None, rows, dtype=pl.Float64, eager=True)


def signs(part: Part, rng: np.random.Generator) -> Floats:
    """+1 or -1 for each door."""
    return rng.choice([-1.0, 1.0], len(part.number))

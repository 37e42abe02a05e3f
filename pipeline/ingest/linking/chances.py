"""How often two doors agree by chance: the u of the Fellegi-Sunter model, counted exactly on the firm's own doors.

Counted on pairs of doors of different houses, so it needs no training and holds for a firm with few callbacks. The
m (how often a callback agrees with its own door) are the fixed numbers in `comparisons.py`.
"""

from dataclasses import dataclass
from itertools import pairwise

import polars as pl

# Share of the pairs of one postcode that also agree in street, and in the house number; no source, judged.
_SAME_STREET = 0.6
_SAME_HOUSE = 0.015
# A number of five digits has about 45 neighbours by one digit changed and 4 by two exchanged.
_NEAR_NUMBERS = 50
_MOST_DAYS = 2_000


@dataclass(frozen=True)
class Chances:
    """Shares of the pairs of a callback with a door not its own, between 0 and 1."""

    n_doors: int
    surname: float
    postcode: float
    outward: float
    house_and_street: float
    street: float
    job: float
    near_job: float
    leaves: float

    @property
    def one(self) -> float:
        """The smallest share worth telling: one door of all."""
        return 1.0 / max(self.n_doors, 20)


def chances_of(doors: pl.DataFrame) -> Chances:
    """Counted over all pairs of doors of different houses; shares too small to be seen stand at one door of all."""
    n_jobs = max(doors["job_key"].n_unique(), 20)
    return Chances(
        n_doors=doors.height,
        surname=_share(doors, ["surname"]),
        postcode=_share(doors, ["postcode"]),
        outward=_share(doors, ["outward"]),
        house_and_street=_share(doors, ["house", "street"]),
        street=_share(doors, ["street"]),
        job=1.0 / n_jobs,
        near_job=min(0.3, _NEAR_NUMBERS / max(n_jobs, 500)),
        leaves=max(0.05, _share(doors, ["leaves"])),
    )


def place_chances(chances: Chances) -> list[float]:
    """u of the levels of the place comparison, in its order, the last one the rest."""
    postcode, outward, both = chances.postcode, chances.outward, chances.house_and_street
    levels = [
        postcode * _SAME_STREET * _SAME_HOUSE,
        both * max(outward, 0.05),
        postcode * _SAME_HOUSE,
        postcode * _SAME_STREET,
        postcode,
        both,
        max(chances.street * max(outward, 0.05), postcode),
        outward,
    ]
    floored = [max(level, chances.one * 0.05) for level in levels]
    return [*floored, max(1 - sum(floored), 0.05)]


def day_chances(callbacks: pl.DataFrame, doors: pl.DataFrame, bounds: tuple[int, ...]) -> list[float]:
    """u of the date levels: shares of the days from a door's start to a callback's report, by upper bound."""
    reported = callbacks["reported_on"].drop_nulls().gather_every(max(1, callbacks.height // _MOST_DAYS))
    started = doors["started_on"].drop_nulls().gather_every(max(1, doors.height // _MOST_DAYS))
    pairs = pl.DataFrame({"reported": reported}).join(pl.DataFrame({"started": started}), how="cross")
    days = pairs.select((pl.col("reported") - pl.col("started")).dt.total_days().alias("days"))
    below = [0, *(days.filter(pl.col("days") < bound).height for bound in bounds), days.height]
    return [(high - low + 1) / (days.height + len(below)) for low, high in pairwise(below)]


def _share(doors: pl.DataFrame, columns: list[str]) -> float:
    """Share of the pairs of doors of different houses that agree in all columns."""
    known = doors.drop_nulls(columns)
    agreeing = _pairs(known, columns) - _pairs(known, [*columns, "site"])
    all_pairs = known.height * known.height - _pairs(known, ["site"])
    least = 0.2 / max(doors.height, 20)
    return min(max(agreeing / all_pairs if all_pairs else 0.0, least), 0.9)


def _pairs(doors: pl.DataFrame, columns: list[str]) -> int:
    counts = doors.group_by(columns).len()["len"].cast(pl.Int64)
    return int((counts * counts).sum())

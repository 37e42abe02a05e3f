"""The tests of a crew's record that look inside it: last digits, copied doors, gaps that follow the outcome.

Each takes the rows of one crew and gives one Tested. Chance is drawn, door by door, from a seeded generator. None of
them says why a record is as it is.
"""

from dataclasses import dataclass

import numpy as np
import polars as pl

from pipeline.stats.digits import digit_counts_by_door, digits_p, displaced_share, drawn_p, smooth_digits
from pipeline.stats.intervals import Floats

# Material sizes and least numbers: common practice, no source, but for the 50 values of a test of last digits.
FEWEST_DOORS = 30
FEWEST_DIGITS = 50
FEWEST_CALLED = 10
DISPLACED = 0.10
IN_HEAPS = 0.8
COPIED_READINGS = 5
COPIED_WITHIN = 5
COPIED = 0.05
MORE_MISSING = 0.10
# Digits on which rounding to a coarser step heaps numbers: halves and whole ones of a tenth, whole ones of a half ...
HEAPS = {0.01: (0, 5), 0.1: (0, 5), 0.5: (0, 2, 4, 6, 8), 1.0: (0, 5), 5.0: (0, 2, 4, 6, 8)}


@dataclass(frozen=True)
class Tested:
    """One crew under one test.

    statistic    the size of what was found, in the test's own unit; None where it could not be tested
    p_value      None where it could not be tested
    doors        doors behind it
    is_material  large enough to matter, were it no chance
    is_rounded   what was found is rounding
    """

    statistic: float | None
    p_value: float | None
    doors: int
    is_material: bool = False
    is_rounded: bool = False


@dataclass(frozen=True)
class Chance:
    """The seeded generator, and how many draws the smallest p-value may take."""

    rng: np.random.Generator
    most: int


def last_digits(written: pl.DataFrame, chance: Chance) -> Tested:
    """Whether last digits heap. written: the crew's rows of written_steps; statistic: share of digits displaced."""
    doors = written["install_id"].n_unique()
    if doors < FEWEST_DOORS or written["readings"].sum() < FEWEST_DIGITS:
        return Tested(None, None, doors)
    steps = sorted(written["step"].unique().to_list())
    grids = [_digit_counts(written.filter(pl.col("step") == step)) for step in steps]
    drawn = digits_p(grids, chance.most, chance.rng)
    digits = np.array([grid[:, 2].sum(axis=0) for grid in grids])
    expected = np.array([smooth_digits(grid) for grid in grids])
    beyond_chance = max(displaced_share(digits, expected) - float(drawn.by_chance[1]), 0.0)
    is_material = beyond_chance >= DISPLACED
    return Tested(beyond_chance, drawn.p_value, doors, is_material, is_material and _is_heaped(steps, digits, expected))


def _digit_counts(written: pl.DataFrame) -> Floats:
    door = written["install_id"].rank("dense").cast(pl.Int64).to_numpy() - 1
    return digit_counts_by_door(door, written["steps"].to_numpy(), written["readings"].to_numpy(), int(door.max()) + 1)


def _is_heaped(steps: list[float], digits: Floats, expected: Floats) -> bool:
    """What is too many lies on the digits that rounding to a coarser step gives."""
    surplus = np.maximum(digits - expected, 0.0)
    heaped = sum(row[list(HEAPS[step])].sum() for step, row in zip(steps, surplus, strict=True))
    return bool(heaped >= IN_HEAPS * surplus.sum())


def copied_doors(blocks: pl.DataFrame, places: dict[str, int], chance: Chance) -> Tested:
    """Whether doors repeat the readings of one of the five doors before more often than of doors in any order.

    blocks  the crew's rows of reading_blocks; places: the order of its doors; statistic: share of doors beyond chance
    """
    twins = blocks.filter(pl.col("twin").is_not_null())
    ids = sorted(twins["install_id"].unique().to_list(), key=lambda door: places[door])
    if len(ids) < FEWEST_DOORS:
        return Tested(None, None, len(ids))
    is_twin = _twins(twins, ids)
    share = float(_copied_shares(is_twin, np.arange(len(ids))[None, :])[0])
    if share == 0.0:
        return Tested(0.0, 1.0, len(ids))

    def draw(n: int) -> Floats:
        orders = chance.rng.permuted(np.tile(np.arange(len(ids)), (n, 1)), axis=1)
        return _copied_shares(is_twin, orders)[:, None]

    drawn = drawn_p(share, draw, chance.most)
    beyond_chance = max(share - float(drawn.by_chance[0]), 0.0)
    return Tested(beyond_chance, drawn.p_value, len(ids), beyond_chance >= COPIED)


def _twins(twins: pl.DataFrame, ids: list[str]) -> np.ndarray:
    """Pairs of doors that share five readings or more in members the same throughout; shape (doors, doors)."""
    number = {door: place for place, door in enumerate(ids)}
    shared = np.zeros((len(ids), len(ids)), dtype=np.int64)
    for block in twins.partition_by("measure", "member"):
        rows = np.array([number[door] for door in block["install_id"]])
        twin = block["twin"].to_numpy()
        same = (twin[:, None] == twin[None, :]) * block["readings"].to_numpy()[:, None]
        shared[np.ix_(rows, rows)] += same
    return shared >= COPIED_READINGS


def _copied_shares(is_twin: np.ndarray, orders: np.ndarray) -> Floats:
    """The share of doors with a twin among the five before, for each order; orders: shape (n, doors)."""
    copied = np.zeros(orders.shape, dtype=bool)
    for lag in range(1, COPIED_WITHIN + 1):
        copied[:, lag:] |= is_twin[orders[:, lag:], orders[:, :-lag]]
    return np.asarray(copied.mean(axis=1))


def missing_where_called(doors: pl.DataFrame, chance: Chance) -> Tested:
    """Whether doors with a callback lack more measures than doors of the same quarter without one.

    doors  the crew's rows of credibility_doors; statistic: share of the record's measures that they lack more
    """
    called = doors["called"].to_numpy()
    usual = int(doors["measures"].max() or 0)  # type: ignore[arg-type]
    if min(called.sum(), (~called).sum()) < FEWEST_CALLED or doors.height < FEWEST_DOORS or usual == 0:
        return Tested(None, None, doors.height)
    doors = doors.sort("quarter", "place")
    called = doors["called"].to_numpy()
    lacking = doors.select(1 - pl.col("measures") / usual).to_series()
    above = lacking - doors.with_columns(lacking.alias("x")).select(pl.col("x").mean().over("quarter")).to_series()
    residual = above.to_numpy()
    quarter = doors["quarter"].rank("dense").to_numpy().astype(float)

    def draw(n: int) -> Floats:
        order = np.argsort(quarter + chance.rng.random((n, len(quarter))), axis=1)
        return np.asarray(residual[order][:, called].sum(axis=1))[:, None]

    drawn = drawn_p(float(residual[called].sum()), draw, chance.most)
    more = float(residual[called].mean() - residual[~called].mean())
    return Tested(more, drawn.p_value, doors.height, more >= MORE_MISSING)

"""Leaves: gaps above, below and beside them, their diagonals, hinges, seals and running.

One leaf hangs lowest and shows the drop; another has the steepest side gap; the spreads run over all leaves.
"""

import numpy as np
import polars as pl

from pipeline.demo.arrays import Floats, Ints
from pipeline.demo.part import Part, block

HINGES = 3
SEAL_PLACES = 3
SMALLEST_GAP_MM = 3.0


def leaf_blocks(part: Part, wanted: tuple[str, ...], rng: np.random.Generator) -> list[pl.DataFrame]:
    """Readings on the leaves, without error."""
    makers = {
        "head_gap": _gaps,
        "leaf_diagonal": _diagonals,
        "hinge_packers": _hinge_packers,
        "seal_compression": _seals,
        "running_force": _running,
    }
    blocks = [table for maker in makers.values() for table in maker(part, rng)]
    return [table for table in blocks if table["measure"][0] in wanted]


def _leaf_names(part: Part, places: int) -> pl.Series:
    return pl.Series([f"leaf_{i + 1}" for i in range(int(part.leaves.max())) for _ in range(places)])


def _two_leaves(part: Part, rng: np.random.Generator) -> tuple[Ints, Ints]:
    """The leaf that hangs lowest and another one, for each door."""
    worst = (rng.random(len(part.leaves)) * part.leaves).astype(np.int64)
    step = 1 + (rng.random(len(part.leaves)) * (part.leaves - 1)).astype(np.int64)
    return worst, (worst + step) % part.leaves


def _is_leaf(part: Part) -> Floats:
    ordinal = np.arange(int(part.leaves.max()))
    return np.where(ordinal < part.leaves[:, None], 1.0, np.nan)


def _gaps(part: Part, rng: np.random.Generator) -> list[pl.DataFrame]:
    worst, other = _two_leaves(part, rng)
    above, below = part.true["head_gap_spread"], part.true["threshold_gap_spread"]
    opens, closes = tapers_of_lowest_leaf(part.true)
    head = _gap_pairs(part, worst, other, above, opens, rng)
    # seen from below the same picture stands on its head
    threshold = below[:, None, None] - _gap_pairs(part, worst, other, below, closes, rng)
    stations = pl.Series(["hinge", "lock"] * int(part.leaves.max()))
    names = _leaf_names(part, 2)
    return [
        block(part, "head_gap", head + _base(part, rng), names, stations),
        block(part, "threshold_gap", threshold + _base(part, rng), names, stations),
        _side_gaps(part, worst, other, rng),
    ]


def tapers_of_lowest_leaf(true: dict[str, Floats]) -> tuple[Floats, Floats]:
    """By how much, mm, the leaf that hangs lowest opens the gap above at its lock and closes the one below.

    Half and half, as far as the spread of the gaps allows; the second is also the largest taper under any leaf.
    """
    drop = true["leaf_drop_rotation"] + true["leaf_drop_racking"]
    least = np.maximum(2 * drop - true["threshold_gap_spread"], 0.0)
    opens = np.clip(drop, least, np.minimum(true["head_gap_spread"], 2 * drop))
    return opens, 2 * drop - opens


def _base(part: Part, rng: np.random.Generator) -> Floats:
    return SMALLEST_GAP_MM + rng.uniform(0.0, 3.0, len(part.number))[:, None, None]


def _gap_pairs(part: Part, worst: Ints, other: Ints, spread: Floats, opens: Floats, rng: np.random.Generator) -> Floats:
    """Gaps at hinge and lock from 0 to `spread`; the worst leaf opens by `opens`; shape (doors, most leaves, 2)."""
    row = np.arange(len(worst))
    most = int(part.leaves.max())
    taper = opens[:, None] * rng.uniform(-0.5, 0.6, (len(worst), most))
    room = spread[:, None] - np.abs(taper)
    hinge = rng.random(taper.shape) * room + np.maximum(-taper, 0.0)
    gaps = np.stack([hinge, hinge + taper], axis=2)
    gaps[row, worst, 0], gaps[row, worst, 1] = 0.0, opens
    gaps[row, other] = spread[:, None]
    return gaps * _is_leaf(part)[:, :, None]


def _side_gaps(part: Part, worst: Ints, other: Ints, rng: np.random.Generator) -> pl.DataFrame:
    row = np.arange(len(worst))
    turned = part.true["leaf_drop_rotation"] * part.height / part.leaf_width
    steepest = part.true["side_gap_taper"]
    taper = steepest[:, None] * rng.uniform(-0.8, 0.3, (len(worst), int(part.leaves.max())))
    taper[row, worst], taper[row, other] = turned, -steepest
    bottom = SMALLEST_GAP_MM + np.maximum(-taper, 0.0) + rng.uniform(0.0, 2.0, taper.shape)
    gaps = np.stack([bottom + taper, bottom], axis=2) * _is_leaf(part)[:, :, None]
    stations = pl.Series(["top", "bottom"] * int(part.leaves.max()))
    return block(part, "side_gap", gaps, _leaf_names(part, 2), stations)


def _diagonals(part: Part, rng: np.random.Generator) -> list[pl.DataFrame]:
    row = np.arange(len(part.number))
    worst = (rng.random(len(row)) * part.leaves).astype(np.int64)
    difference = part.true["leaf_diagonal_difference"][:, None] * rng.uniform(
        -0.8, 0.8, (len(row), int(part.leaves.max()))
    )
    difference[row, worst] = part.true["leaf_diagonal_difference"] * rng.choice([-1.0, 1.0], len(row))
    size = np.hypot(part.leaf_width - 20.0, part.height - 60.0)[:, None]
    both = np.stack([size + difference / 2, size - difference / 2], axis=2) * _is_leaf(part)[:, :, None]
    stations = pl.Series(["rising", "falling"] * int(part.leaves.max()))
    return [block(part, "leaf_diagonal", both, _leaf_names(part, 2), stations)]


def _hinge_packers(part: Part, rng: np.random.Generator) -> list[pl.DataFrame]:
    row = np.arange(len(part.number))
    places = int(part.leaves.max()) * HINGES
    most = part.true["hinge_packer_count"]
    count = np.floor(rng.random((len(row), places)) * (most[:, None] + 1) * 0.8)
    count[row, (rng.random(len(row)) * part.leaves * HINGES).astype(np.int64)] = most
    count = count * np.repeat(_is_leaf(part), HINGES, axis=1)
    hinges = pl.Series([str(i + 1) for i in range(HINGES)] * int(part.leaves.max()))
    return [block(part, "hinge_packers", count, _leaf_names(part, HINGES), hinges)]


def _seals(part: Part, rng: np.random.Generator) -> list[pl.DataFrame]:
    row = np.arange(len(part.number))
    places = int(part.leaves.max()) * SEAL_PLACES
    share = rng.random((len(row), places))
    ends = np.argsort(np.where(np.arange(places) < part.leaves[:, None] * SEAL_PLACES, rng.random(share.shape), 2.0))
    share[row, ends[:, 0]], share[row, ends[:, 1]] = 0.0, 1.0
    low, spread = part.true["seal_compression_low"], part.true["seal_compression_spread"]
    pressed = (low[:, None] + spread[:, None] * share) * np.repeat(_is_leaf(part), SEAL_PLACES, axis=1)
    ordinal = pl.Series([str(i + 1) for i in range(SEAL_PLACES)] * int(part.leaves.max()))
    return [block(part, "seal_compression", pressed, _leaf_names(part, SEAL_PLACES), ordinal)]


def _running(part: Part, rng: np.random.Generator) -> list[pl.DataFrame]:
    true = part.true
    drag = 4.0 * true["sill_level_error"] + 3.0 * true["head_parallel_error"] + 8.0 * true["track_clean"]
    force = (10.0 + 0.5 * part.leaf_weight + drag)[:, None] * rng.lognormal(
        0.0, 0.12, (len(drag), int(part.leaves.max()))
    )
    return [block(part, "running_force", force * _is_leaf(part), _leaf_names(part, 1))]

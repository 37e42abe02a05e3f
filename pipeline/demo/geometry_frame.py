"""Opening and frame: four sides with two diagonals, jambs, fixings, packers and the gap to the wall."""

import numpy as np
import polars as pl

from pipeline.demo.arrays import Flags, Floats, Ints
from pipeline.demo.fixing_plan import MEMBERS, fixing_positions, plan_fixings
from pipeline.demo.gaps import OPENING_WIDER_MM
from pipeline.demo.part import Part, block, signs

PACKER_FROM_FIXING_MM = (30.0, 80.0)
JAMBS = ("left_jamb", "right_jamb")


def frame_blocks(part: Part, wanted: tuple[str, ...], rng: np.random.Generator) -> list[pl.DataFrame]:
    """Readings of the opening and of the frame, without error."""
    blocks = [
        *_opening(part, rng), *_frame_lengths(part, rng), *_jambs(part, rng), *_fixings(part, rng), _gaps(part, rng),
        block(part, "temperature", rng.normal(12.0, 6.0, len(part.number))),
    ]  # fmt: skip
    return [table for table in blocks if table.height and table["measure"][0] in wanted]


def _opening(part: Part, rng: np.random.Generator) -> list[pl.DataFrame]:
    width, height = part.width + OPENING_WIDER_MM, part.height + part.gap_mm
    places = np.column_stack([np.zeros_like(height), height / 2, height])
    widths = width[:, None] + _ranged(part.true["aperture_width_spread"], 3, rng)
    heights = height[:, None] + _ranged(part.true["aperture_height_spread"], 3, rng)
    sides = np.column_stack([widths[:, 0], heights[:, 2], widths[:, 2], heights[:, 0]])
    diagonals = diagonals_for(sides, part.true["aperture_diagonal_difference"] * signs(part, rng))
    across = np.column_stack([np.zeros_like(width), width / 2, width])
    return [
        block(part, "aperture_width", widths, position=places),
        block(part, "aperture_height", heights, position=across),
        block(part, "aperture_diagonal", diagonals, station=pl.Series(["rising", "falling"])),
    ]


def _ranged(spread: Floats, places: int, rng: np.random.Generator) -> Floats:
    """Numbers from 0 to `spread` that reach both, in any order; shape (doors, places)."""
    share = rng.random((len(spread), places))
    order = rng.permuted(np.tile(np.arange(places), (len(spread), 1)), axis=1)
    share[np.arange(len(spread)), order[:, 0]] = 0.0
    share[np.arange(len(spread)), order[:, 1]] = 1.0
    return share * spread[:, None]


def _frame_lengths(part: Part, rng: np.random.Generator) -> list[pl.DataFrame]:
    off = rng.normal(0.0, 0.4, (len(part.number), 4))
    sides = np.column_stack([part.width, part.height, part.width, part.height]) + off
    diagonals = diagonals_for(sides, part.true["frame_diagonal_difference"] * signs(part, rng))
    nothing = np.zeros(len(part.number))
    return [
        block(part, "frame_width", sides[:, [0, 2]], position=np.column_stack([nothing, part.height])),
        block(part, "frame_height", sides[:, [3, 1]], position=np.column_stack([nothing, part.width])),
        block(part, "frame_diagonal", diagonals, station=pl.Series(["rising", "falling"])),
    ]


def diagonals_for(sides: Floats, difference: Floats) -> Floats:
    """Both diagonals, rising (bottom left to top right) and falling, of the flat frame that differ by `difference`.

    sides  (doors, 4): sill, right jamb, head, left jamb, mm. Newton's method on the left jamb's lean.
    """
    sill, left = sides[:, 0], sides[:, 3]
    lean = difference / 2 * np.hypot(sill, left) / sill
    for _ in range(6):
        gap = _diagonal_gap(sides, lean) - difference
        slope = (_diagonal_gap(sides, lean + 0.01) - _diagonal_gap(sides, lean - 0.01)) / 0.02
        lean = lean - gap / slope
    return np.column_stack(_diagonals(sides, lean))


def _diagonal_gap(sides: Floats, lean: Floats) -> Floats:
    rising, falling = _diagonals(sides, lean)
    return rising - falling


def _diagonals(sides: Floats, lean: Floats) -> tuple[Floats, Floats]:
    sill, right, head, left = sides.T
    rise = np.sqrt(left**2 - lean**2)
    # top right corner: `head` from the top left corner and `right` from the bottom right one
    across, down = sill - lean, -rise
    apart = np.hypot(across, down)
    along = (head**2 - right**2 + apart**2) / (2 * apart)
    off = np.sqrt(head**2 - along**2)
    x = lean + (along * across - off * down) / apart
    y = rise + (along * down + off * across) / apart
    return np.hypot(x, y), apart


def _jambs(part: Part, rng: np.random.Generator) -> list[pl.DataFrame]:
    heights = part.height[:, None] * np.array([0.0, 0.5, 1.0])
    blocks = []
    leans = _leans(part, rng)
    for column, (measure, member) in enumerate((m, j) for m in ("jamb_face", "jamb_edge") for j in JAMBS):
        offset = rng.normal(30.0, 5.0, len(part.number))[:, None]
        value = offset + leans[:, column, None] * np.array([0.0, 0.5, 1.0])
        blocks.append(block(part, measure, value, member, position=heights))
    return blocks


def _leans(part: Part, rng: np.random.Generator) -> Floats:
    """Leans over the height, mm: left and right across the door, left and right in its plane; shape (doors, 4).

    The largest is the plumb error; the two across the door differ by the twist. (In the plane a frame also turns as a
    whole, so these leans say less than its diagonals and are drawn apart from them.)
    """
    worst, twist = part.true["jamb_plumb_error"], part.true["jamb_twist"]
    is_across = rng.random(len(worst)) < 0.5
    share = np.where(is_across, 1.0, rng.uniform(-0.9, 0.9, len(worst)))
    left = twist / 2 + share * (worst - twist / 2)
    right = left - twist
    turn = signs(part, rng)
    across = np.column_stack([left, right]) * turn[:, None]
    across = np.where((rng.random(len(worst)) < 0.5)[:, None], across, across[:, ::-1])
    in_plane = worst * np.where(is_across, rng.uniform(-0.9, 0.9, len(worst)), signs(part, rng))
    other = in_plane * rng.uniform(0.6, 1.0, len(worst))
    return np.column_stack([across, in_plane, other])


def _fixings(part: Part, rng: np.random.Generator) -> list[pl.DataFrame]:
    plan = plan_fixings(part.width, part.height, part.true)
    bare = _bare_fixings(plan.count[:, :2], part.true["unpackered_fixings"], rng)
    blocks = []
    for column, member in enumerate(MEMBERS):
        place, count = fixing_positions(plan, column)
        ordinal = pl.Series([str(i + 1) for i in range(count.max())])
        blocks.append(block(part, "fixing", place, member, ordinal))
        if member in JAMBS:
            packed = np.where(_marked(bare[:, column], place.shape[1], count, rng), np.nan, place)
            beside = np.stack([packed - _beside(packed, rng), packed + _beside(packed, rng)], axis=2)
            beside = beside.reshape(len(packed), -1)
            blocks.append(
                block(part, "packer", beside, member, pl.Series([str(i + 1) for i in range(beside.shape[1])]))
            )
    return blocks


def _beside(place: Floats, rng: np.random.Generator) -> Floats:
    return rng.uniform(*PACKER_FROM_FIXING_MM, place.shape)


def _bare_fixings(count: Ints, share: Floats, rng: np.random.Generator) -> Ints:
    """How many fixings of the left and the right jamb have no packers; shape (doors, 2)."""
    total = count.sum(axis=1)
    bare = np.round(share * total).astype(np.int64)
    left = rng.hypergeometric(count[:, 0], count[:, 1], bare)
    return np.column_stack([left, bare - left])


def _marked(many: Ints, places: int, count: Ints, rng: np.random.Generator) -> Flags:
    """Which `many` of the first `count` places of each row, by chance; shape (rows, places)."""
    chance = np.where(np.arange(places) < count[:, None], rng.random((len(many), places)), 2.0)
    return np.argsort(np.argsort(chance, axis=1), axis=1) < many[:, None]


def _gaps(part: Part, rng: np.random.Generator) -> pl.DataFrame:
    short = part.true["perimeter_gap_shortfall"]
    tightest = part.gap_mm - np.where(short > 0, short, -rng.uniform(0.3, 2.0, len(short)))
    gap = tightest[:, None] + _ranged(rng.uniform(0.5, 3.0, len(short)), 8, rng)
    along = np.column_stack([part.height, part.height, part.width, part.width])
    position = np.stack([along * 0.25, along * 0.75], axis=2).reshape(len(short), -1)
    members = pl.Series([member for member in MEMBERS for _ in range(2)])
    return block(part, "perimeter_gap", gap, members, position=position)

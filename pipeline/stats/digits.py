"""Last digits of written numbers: how far they heap, and whether chance could do that.

Sources: United Nations (1955), Methods of Appraisal of Quality of Basic Data, Population Studies 23 (Whipple's index,
from memory); Besag and Clifford (1991), Biometrika 78, 301-304 (p-values by drawing until enough exceed).
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pipeline.stats.intervals import Floats

SHIFTS = (-2, -1, 0, 1, 2)
EXCEEDING = 10
DRAWS_A_TIME = 500


@dataclass(frozen=True)
class DrawnP:
    """A p-value by drawing. by_chance: mean of what was drawn, shape as the statistics' second axis."""

    p_value: float
    by_chance: Floats


def whipple_index(digit_counts: ArrayLike) -> float:
    """How often numbers end in 0 or 5, over how often they would without preference: 1 none, 5 all do.

    digit_counts  shape (10,), numbers by last digit over whole decades
    Raises ValueError where there are no numbers.
    """
    counts = np.asarray(digit_counts, dtype=float)
    if counts.sum() <= 0:
        raise ValueError("there are no digits to count")
    return float(5 * (counts[0] + counts[5]) / counts.sum())


def digit_chi_square(digit_counts: ArrayLike, expected: ArrayLike | None = None) -> float:
    """Pearson's chi-square of the digits against `expected` counts, or equal ones. shapes (..., 10), summed over."""
    counts = np.asarray(digit_counts, dtype=float)
    wanted = np.full_like(counts, counts.mean()) if expected is None else np.asarray(expected, dtype=float)
    return float(_chi_square(counts, wanted))


def displaced_share(digit_counts: Floats, expected: Floats) -> float:
    """The share of digits that would have to be others for the counts to be as expected; 0 to 1."""
    return float(np.abs(digit_counts - expected).sum() / 2 / max(digit_counts.sum(), 1.0))


def shifted_digits(steps: NDArray[np.int64]) -> NDArray[np.int64]:
    """The last digit of each whole number after each of SHIFTS is added; shape (5, n). The sign is not a digit."""
    return np.abs(steps[None, :] + np.array(SHIFTS)[:, None]) % 10


def digit_counts_by_door(
    door: NDArray[np.int64], steps: NDArray[np.int64], readings: NDArray[np.int64], n_doors: int
) -> Floats:
    """Numbers by door, shift and last digit; shape (n_doors, 5, 10).

    door, steps, readings  shape (n,): door number from 0, the whole number written, how often
    """
    rows = np.stack([door * 10 + digits for digits in shifted_digits(steps)])
    counts = [np.bincount(row, weights=readings, minlength=n_doors * 10).reshape(n_doors, 10) for row in rows]
    return np.stack(counts, axis=1)


def smooth_digits(counts: Floats) -> Floats:
    """What last digits would be without preference: the mean over shifts of a step or two.

    counts  shape (doors, 5, 10); the answer (10,)
    Where values spread over several steps, moving them by one or two leaves their digits as they were but for chance;
    heaps on single digits are spread out.
    """
    return counts.sum(axis=0).mean(axis=0)


def digits_p(grids: list[Floats], most: int, rng: np.random.Generator) -> DrawnP:
    """Whether digits heap more than doors shifted at random would: chi-square summed over grids.

    grids  one array (doors, 5, 10) for each recording step; all digits of one door and grid are shifted together, so
           readings of one door may be alike
    """
    expected = np.array([smooth_digits(grid) for grid in grids])

    def draw(n: int) -> Floats:
        drawn = np.stack([_shifted_totals(grid, n, rng) for grid in grids], axis=1)
        chi = _chi_square(drawn, expected)
        displaced = np.abs(drawn - expected).sum(axis=(1, 2)) / 2 / expected.sum()
        return np.stack([chi, displaced], axis=1)

    observed = np.array([grid[:, SHIFTS.index(0)].sum(axis=0) for grid in grids])
    return drawn_p(float(_chi_square(observed, expected)), draw, most)


def _shifted_totals(grid: Floats, n: int, rng: np.random.Generator) -> Floats:
    doors = len(grid)
    chosen = rng.integers(0, len(SHIFTS), (n, doors))
    picks = (chosen[:, :, None] == np.arange(len(SHIFTS))).reshape(n, -1).astype(float)
    return picks @ grid.reshape(-1, 10)


def _chi_square(counts: Floats, expected: Floats) -> Floats:
    wanted = np.broadcast_to(expected, counts.shape)
    terms = np.divide((counts - wanted) ** 2, wanted, out=np.zeros(counts.shape), where=wanted > 0)
    return np.asarray(terms.sum(axis=-1) if counts.ndim == 1 else terms.sum(axis=(-2, -1)))


def drawn_p(observed: float, draw: Callable[[int], Floats], most: int) -> DrawnP:
    """The chance of a statistic at least as large as observed, by drawing until ten are or `most` are drawn.

    draw  gives n draws, shape (n, k): the statistic first, then whatever is to be averaged
    """
    drawn: list[Floats] = []
    n, exceeding = 0, 0
    while n < most and exceeding < EXCEEDING:
        batch = draw(min(DRAWS_A_TIME, most - n))
        is_over = batch[:, 0] >= observed - 1e-9
        tenth = np.flatnonzero(np.cumsum(is_over) + exceeding == EXCEEDING)
        drawn.append(batch)
        exceeding += int(is_over.sum())
        if len(tenth):
            return DrawnP(EXCEEDING / (n + int(tenth[0]) + 1), np.concatenate(drawn).mean(axis=0))
        n += len(batch)
    return DrawnP((exceeding + 1) / (n + 1), np.concatenate(drawn).mean(axis=0))

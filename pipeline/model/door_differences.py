"""How unevenly callbacks fall on doors: in clumps of visits, and for good."""

import numpy as np
import polars as pl

from pipeline.model.days import numbers_of
from pipeline.model.month_grid import MonthGrid
from pipeline.stats.intervals import Floats

MOST_FRAILTY = 20.0


def clumping_of(watched: pl.DataFrame, repeat_days: int) -> float:
    """Variance over mean of a count of calls, from calls of one door that follow each other; 1 or more.

    watched  rows of callback_days with a door
    Pairs of calls within the repeat time count as far as they are more than pairs up to twice as far apart: doors that
    are bad for good have pairs at any distance, and they are not clumps.
    """
    ordered = watched.select("install_id", "reported_on").sort("install_id", "reported_on")
    door, day = ordered["install_id"].rank("dense").to_numpy(), numbers_of(ordered["reported_on"])
    near = far = 0
    for apart in range(1, len(day)):
        gap = np.where(door[apart:] == door[:-apart], day[apart:] - day[:-apart], 10**6)
        near, far = near + int((gap <= repeat_days).sum()), far + int((gap <= 2 * repeat_days).sum())
        if not (gap <= 2 * repeat_days).any():
            break
    return 1 + 2 * max(near - (far - near), 0) / max(len(day), 1)


def frailty_of(watched: pl.DataFrame, clumping: float, door_means: tuple[Floats, Floats]) -> float:
    """Variance of the doors' own rates, mean 1, from how many doors came again, clumps apart.

    door_means  expected calls of each kind of door (in any scale), and how many doors are of that kind
    Moments: E(c (c - 1)) = mean squared x (1 + frailty) + mean x (clumping - 1).
    """
    mean, doors = door_means
    per_door = watched.group_by("install_id").len()["len"].to_numpy().astype(float)
    expected = mean * per_door.sum() / max(float(doors @ mean), 1e-300)
    pairs = float((per_door * (per_door - 1)).sum()) - (clumping - 1) * float(per_door.sum())
    alike = float(doors @ expected**2)
    return float(np.clip(pairs / alike - 1, 0.0, MOST_FRAILTY)) if alike > 0 else 0.0


def door_error(frailty: float, past: Floats, ahead: Floats, doors: Floats) -> float:
    """Sd of the total ahead over its mean from doors that differ for good.

    past, ahead  what each kind of door was and will be expected to bring; doors: how many. The total is foretold by
    what came, times what is ahead over what was past; a door's own rate matters as far as its share in the two differs.
    """
    if past @ doors <= 0 or ahead @ doors <= 0:
        return 0.0
    ratio = (ahead @ doors) / (past @ doors)
    return float(np.sqrt(frailty * (doors @ (ahead - ratio * past) ** 2)) / (ahead @ doors))


def grown_by(age_days: np.ndarray, rates: Floats, cuts: np.ndarray) -> Floats:
    """Callbacks expected of a door up to an age, from the rates by age interval (a day)."""
    ends = np.append(cuts, 10**6)
    grown = np.concatenate([[0.0], np.cumsum(rates * np.diff(ends))])
    return np.asarray(np.interp(np.maximum(age_days, 0), ends, grown))


def door_means(spans: pl.DataFrame, grid: MonthGrid, rates: Floats, cuts: np.ndarray) -> tuple[Floats, Floats, Floats]:
    """What each row of spans was and will be expected to bring, and its number of doors.

    Doors that start after the last day known have no past.
    """
    started, entry = numbers_of(spans["started_on"]), numbers_of(spans["from_on"])
    removed, warranty = numbers_of(spans["removed_on"]), numbers_of(spans["warranty_on"])
    last = np.minimum(np.where(removed > grid.on, grid.starts[-1], removed), warranty)

    def between(first: np.ndarray | int, end: np.ndarray | int) -> Floats:
        low, high = np.maximum(entry, first), np.minimum(last + 1, end)
        grown = [grown_by(day - started, rates, cuts) for day in (low, np.maximum(high, low))]
        return grown[1] - grown[0]

    past = between(grid.starts[0], grid.on + 1)
    ahead = between(grid.starts[grid.n_past], grid.starts[-1])
    return past, ahead, spans["doors"].to_numpy().astype(float)

"""Splitting time under observation into age intervals."""

import numpy as np
from numpy.typing import ArrayLike

from pipeline.stats.intervals import Floats


def event_cuts(ages: ArrayLike, n_intervals: int = 5, least_events: int = 10) -> Floats:
    """Ages that cut the time axis so that each interval holds about as many events.

    ages  ages at the events
    Returns ascending cuts starting at 0 and ending at infinity; fewer intervals where there are fewer than
    `least_events` events for each.
    """
    values = np.asarray(ages, dtype=float)
    n = int(np.clip(len(values) // least_events, 1, n_intervals))
    inner = np.quantile(values, np.linspace(0, 1, n + 1)[1:-1]) if n > 1 else np.empty(0)
    inner = np.unique(inner[inner > 0])
    return np.concatenate([[0.0], inner, [np.inf]])


def split_time(entry: ArrayLike, leave: ArrayLike, cuts: Floats) -> Floats:
    """(n, K) time spent in each interval (cut, next cut] between the ages entry and leave; 0 where leave <= entry."""
    low = np.maximum(np.asarray(entry, dtype=float)[:, None], cuts[None, :-1])
    high = np.minimum(np.asarray(leave, dtype=float)[:, None], cuts[None, 1:])
    return np.maximum(high - low, 0.0)


def count_events(rows: ArrayLike, ages: ArrayLike, n_rows: int, cuts: Floats) -> Floats:
    """(n_rows, K) number of events of each row in each interval (cut, next cut]; age 0 falls in the first."""
    column = np.clip(np.searchsorted(cuts, np.asarray(ages, dtype=float), side="left") - 1, 0, len(cuts) - 2)
    events = np.zeros((n_rows, len(cuts) - 1))
    np.add.at(events, (np.asarray(rows, dtype=int), column), 1.0)
    return events

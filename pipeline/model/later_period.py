"""The records cut in two by a day: what was known up to it foretells, what came later judges."""

from dataclasses import dataclass, replace
from datetime import date
from typing import cast

import numpy as np
import polars as pl

from pipeline.model.evidence import LEAST_EVENTS
from pipeline.model.risk import DAYS_PER_YEAR, FirstFaults, Watched, answered_episodes, first_faults
from pipeline.stats.intervals import Floats
from pipeline.stats.time_at_risk import split_time

LATER_SHARE = 0.35  # of the first callbacks, the latest are those that the earlier ones are judged by
LEAST_LATER = 30


@dataclass(frozen=True)
class Cut:
    """cut_on: the last day of the earlier records; ages (n,) of the doors on it, years; before: episodes up to it."""

    cut_on: date
    ages: Floats
    before: pl.DataFrame
    episodes: pl.DataFrame

    def earlier(self, watched: Watched) -> Watched:
        """The doors as they had been watched by then; those fitted later have no time."""
        return replace(watched, leave=np.clip(watched.leave, None, np.maximum(self.ages, watched.entry)))


@dataclass(frozen=True)
class Came:
    """One fault after the cut: entry, leave (n,) ages; time (n, K) in the intervals of the earlier fit; events (n,)."""

    entry: Floats
    leave: Floats
    time: Floats
    events: Floats


def frequent_faults(episodes: pl.DataFrame) -> list[str]:
    """Faults with so many episodes that crews answer for that they can be studied, by name."""
    counts = answered_episodes(episodes).group_by("fault").len()
    return [name for name, n in sorted(counts.iter_rows()) if n >= LEAST_EVENTS]


def cut_of(episodes: pl.DataFrame, started_on: pl.Series) -> Cut | None:
    """The cut after which the latest LATER_SHARE of the episodes came; None where there are none.

    started_on  (n,) the day each door's age is 0
    """
    days = answered_episodes(episodes)["reported_on"].sort()
    if days.is_empty():
        return None
    cut_on = cast(date, days[int((1 - LATER_SHARE) * (len(days) - 1))])
    old = pl.DataFrame({"on": started_on}).select((pl.lit(cut_on) - pl.col("on")).dt.total_days()).to_series()
    before = episodes.filter(pl.col("reported_on") <= cut_on)
    return Cut(cut_on, (old.to_numpy() + 0.5) / DAYS_PER_YEAR, before, episodes)


def came_later(cut: Cut, watched: Watched, fault: str, earlier: FirstFaults) -> Came:
    """What came of one fault after the cut."""
    everything = first_faults(watched, cut.episodes, fault)
    leave = watched.entry + everything.time.sum(axis=1)
    entry = np.maximum(watched.entry, cut.ages)
    events = np.where(leave > cut.ages, everything.events.sum(axis=1), 0.0)
    return Came(entry, leave, split_time(entry, leave, earlier.cuts), events)

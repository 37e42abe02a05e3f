"""Doors at risk as arrays: who is watched, from which age to which, and the first fault of each kind."""

from dataclasses import dataclass

import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.stats.intervals import Floats
from pipeline.stats.time_at_risk import count_events, event_cuts, split_time

DAYS_PER_YEAR = 365.25


@dataclass(frozen=True)
class Watched:
    """Doors with time at risk, sorted by crew. Ages are in years since handover (else fitting).

    install_ids, crews  (n,) names;  groups (n,) crew number 0..G-1;  entry, leave (n,) ages
    """

    install_ids: pl.Series
    crews: pl.Series
    groups: NDArray[np.int64]
    entry: Floats
    leave: Floats


@dataclass(frozen=True)
class FirstFaults:
    """One fault kind: time (n, K) until its first episode or the end of watching, events (n, K), cuts (K + 1)."""

    time: Floats
    events: Floats
    cuts: Floats

    @property
    def n_events(self) -> int:
        """First episodes that the crews answer for."""
        return int(self.events.sum())


def answered_episodes(episodes: pl.DataFrame) -> pl.DataFrame:
    """The rows of episodes that open one which a crew answers for."""
    return episodes.filter((pl.col("kind") == "episode") & pl.col("is_answered_for"))


def crew_numbers(crews: pl.Series) -> NDArray[np.int64]:
    """(n,) numbers 0..G-1 of crews, in the order of their names."""
    return crews.rank("dense").to_numpy().astype(np.int64) - 1


def watched_doors(door_time: pl.DataFrame) -> Watched:
    """The doors of door_time that were ever at risk, sorted by crew and door."""
    rows = door_time.filter(pl.col("door_years") > 0).sort("crew", "install_id")
    return Watched(
        rows["install_id"],
        rows["crew"],
        crew_numbers(rows["crew"]),
        rows["entry_days"].to_numpy().astype(float) / DAYS_PER_YEAR,
        rows["exit_days"].to_numpy().astype(float) / DAYS_PER_YEAR,
    )


def first_faults(watched: Watched, episodes: pl.DataFrame, fault: str) -> FirstFaults:
    """Time to the first episode of `fault`; an episode that no crew answers for ends the watch without an event.

    episodes  the table episodes; only rows that open one count
    """
    doors = pl.DataFrame({"install_id": watched.install_ids}).with_row_index("row")
    first = (
        episodes.filter((pl.col("kind") == "episode") & (pl.col("fault") == fault))
        .sort("install_id", "reported_on", "callback_id")
        .group_by("install_id", maintain_order=True)
        .first()
        .join(doors, on="install_id")
    )
    rows = first["row"].to_numpy()
    ages = first["age_days"].to_numpy().astype(float) / DAYS_PER_YEAR
    leave = watched.leave.copy()
    leave[rows] = np.minimum(leave[rows], ages)
    answered = first["is_answered_for"].to_numpy().astype(bool)
    cuts = event_cuts(ages[answered])
    events = count_events(rows[answered], ages[answered], len(leave), cuts)
    return FirstFaults(split_time(watched.entry, leave, cuts), events, cuts)

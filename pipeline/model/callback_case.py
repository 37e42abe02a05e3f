"""All callbacks of the watched doors together: what a crew's count is compared on."""

from dataclasses import dataclass

import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.model.case_mix import ExpectedCounts, expected_counts
from pipeline.model.covariates import Columns, door_columns
from pipeline.model.risk import DAYS_PER_YEAR, Watched
from pipeline.stats.intervals import Floats
from pipeline.stats.time_at_risk import count_events, event_cuts, split_time


@dataclass(frozen=True)
class CallbackCase:
    """The watched doors, sorted by crew: covariates; time and events (n, K) by age; groups (n,) crew numbers."""

    covariates: Columns
    time: Floats
    events: Floats
    groups: NDArray[np.int64]

    @property
    def counts(self) -> Floats:
        """(n,) callbacks of each door."""
        return np.asarray(self.events.sum(axis=1))


def opening_callbacks(episodes: pl.DataFrame, staged_callbacks: pl.DataFrame) -> pl.DataFrame:
    """One row per callback that opens an episode: its door, age, and whether the crew answers for it."""
    return (
        episodes.filter(pl.col("kind") == "episode")
        .group_by("callback_id")
        .agg(pl.col("install_id", "crew", "age_days").first(), pl.col("is_answered_for").any())
        .join(staged_callbacks.select("callback_id", "cost"), on="callback_id", how="left")
        .sort("callback_id")
    )


def callback_case(watched: Watched, installs: pl.DataFrame, answered: pl.DataFrame) -> CallbackCase:
    """The case of these doors. answered: the opening callbacks that crews answer for."""
    doors = pl.DataFrame({"install_id": watched.install_ids}).with_row_index("row")
    calls = answered.join(doors, on="install_id")
    ages = calls["age_days"].to_numpy().astype(float) / DAYS_PER_YEAR
    cuts = event_cuts(ages)
    return CallbackCase(
        covariates=door_columns(doors.join(installs, on="install_id", how="left", maintain_order="left")),
        time=split_time(watched.entry, watched.leave, cuts),
        events=count_events(calls["row"].to_numpy(), ages, len(watched.install_ids), cuts),
        groups=watched.groups,
    )


def expected_of(case: CallbackCase) -> ExpectedCounts | None:
    """What each crew's doors would have brought in the hands of an average crew; None without any event."""
    return expected_counts(case.covariates, case.time, case.events, case.groups)

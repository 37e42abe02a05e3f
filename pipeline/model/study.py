"""Gathers the tables that every pair of fault and deviation shares into arrays, doors sorted by crew."""

from dataclasses import dataclass

import numpy as np
import polars as pl

from pipeline.model.adjusters import Place
from pipeline.model.covariates import door_columns
from pipeline.model.door_matrix import door_matrix
from pipeline.model.pair_design import Firm
from pipeline.model.risk import Watched
from pipeline.stats.intervals import Floats


@dataclass(frozen=True)
class Study:
    """What the pairs share.

    limits          (n, D) the governing limit of each door and deviation, nan where there is none
    expected_pairs  (deviation, fault) that the trade expects
    """

    watched: Watched
    firm: Firm
    limits: Floats
    expected_pairs: set[tuple[str, str]]
    seed: int


def firm_of(
    watched: Watched,
    installs: pl.DataFrame,
    door_values: pl.DataFrame,
    by_name: dict[str, Place],
    catalogue_limits: pl.DataFrame,
) -> Firm:
    """The watched doors with their covariates and deviations.

    A deviation that is worse on both sides is stored as its distance from the middle of its limits, else from the
    firm's median.
    """
    doors = pl.DataFrame({"install_id": watched.install_ids}).join(
        installs, on="install_id", how="left", maintain_order="left"
    )
    values = door_matrix(door_values, watched.install_ids, len(by_name))
    for place in _two_sided(by_name):
        column = values[:, place.ordinal]
        limits = _both_limits(place, catalogue_limits)
        middle = sum(limits) / 2 if limits else np.nanmedian(column) if np.isfinite(column).any() else 0.0
        values[:, place.ordinal] = np.abs(column - middle)
    return Firm(watched.groups, door_columns(doors), values, by_name)


def limits_of(
    watched: Watched, door_limits: pl.DataFrame, by_name: dict[str, Place], catalogue_limits: pl.DataFrame
) -> Floats:
    """(n, D) governing limits: 0 failed for a check, the allowed distance for a deviation worse on both sides."""
    governing = door_matrix(door_limits, watched.install_ids, len(by_name))
    for place in by_name.values():
        if place.is_check:
            governing[:, place.ordinal] = 0.0
    for place in _two_sided(by_name):
        limits = _both_limits(place, catalogue_limits)
        governing[:, place.ordinal] = (limits[1] - limits[0]) / 2 if limits else np.nan
    return governing


def _two_sided(by_name: dict[str, Place]) -> list[Place]:
    return [place for place in by_name.values() if place.worse == "both"]


def _both_limits(place: Place, limits: pl.DataFrame) -> tuple[float, float] | None:
    """The band in use: the firm's own goes first, and of several rows the one for every product and material."""
    both = limits.filter(
        (pl.col("deviation") == place.name) & (pl.col("status") == "in use"),
        pl.col("low").is_not_null() & pl.col("high").is_not_null(),
    ).sort(
        pl.col("is_own").not_(), pl.col("product").is_not_null(), pl.col("material").is_not_null(), maintain_order=True
    )
    return (both["low"][0], both["high"][0]) if both.height else None

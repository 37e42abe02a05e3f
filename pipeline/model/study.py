"""Gathers the tables that every pair of fault and deviation shares into arrays, doors sorted by crew."""

from dataclasses import dataclass

import numpy as np
import polars as pl

from pipeline.model.adjusters import Place, places
from pipeline.model.covariates import door_columns
from pipeline.model.door_matrix import door_matrix
from pipeline.model.pair_design import Firm
from pipeline.model.risk import Watched
from pipeline.stats.far_out import pulled_in
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


@dataclass(frozen=True)
class Bands:
    """(n, D) each: the door's governing limit, and of deviations worse on both sides the middle of the door's limits.

    The limit is 0 failed for a check, and the allowed distance from the middle for a deviation worse on both sides.
    """

    limits: Floats
    middles: Floats


def study_of(
    watched: Watched,
    installs: pl.DataFrame,
    door_values: pl.DataFrame,
    door_limits: pl.DataFrame,
    catalogue: tuple[pl.DataFrame, pl.DataFrame],
    settings: pl.DataFrame,
) -> Study:
    """The watched doors with everything that is recorded of them.

    catalogue  the tables catalogue_deviations and catalogue_pairs
    """
    deviations, pairs = catalogue
    by_name = places(deviations)
    bands = bands_of(watched, door_limits, by_name)
    return Study(
        watched=watched,
        firm=firm_of(watched, installs, door_values, by_name, bands),
        limits=bands.limits,
        expected_pairs=set(pairs.iter_rows()),
        seed=int(settings["seed"][0] or 0),
    )


def firm_of(
    watched: Watched, installs: pl.DataFrame, door_values: pl.DataFrame, by_name: dict[str, Place], bands: Bands
) -> Firm:
    """The watched doors with their covariates and deviations.

    A deviation that is worse on both sides is stored as its distance from the middle of the door's limits, else from
    the firm's median. What lies far beyond all others is pulled in, see stats/far_out.py.
    """
    doors = pl.DataFrame({"install_id": watched.install_ids}).join(
        installs, on="install_id", how="left", maintain_order="left"
    )
    values = door_matrix(door_values, watched.install_ids, len(by_name))
    for place in _two_sided(by_name):
        column = values[:, place.ordinal]
        median = np.nanmedian(column) if np.isfinite(column).any() else 0.0
        middle = bands.middles[:, place.ordinal]
        values[:, place.ordinal] = np.abs(column - np.where(np.isnan(middle), median, middle))
    measured = [place.ordinal for place in by_name.values() if not place.is_check]
    return Firm(watched.groups, door_columns(doors), values, by_name, pulled_in(values, measured))


def bands_of(watched: Watched, door_limits: pl.DataFrame, by_name: dict[str, Place]) -> Bands:
    """The limits that hold for each watched door; nan where there is none."""
    limits = door_matrix(door_limits, watched.install_ids, len(by_name))
    lows = door_matrix(door_limits, watched.install_ids, len(by_name), "lows")
    middles = (limits + lows) / 2
    for place in by_name.values():
        if place.is_check:
            limits[:, place.ordinal] = 0.0
    for place in _two_sided(by_name):
        limits[:, place.ordinal] -= middles[:, place.ordinal]
    return Bands(limits, middles)


def _two_sided(by_name: dict[str, Place]) -> list[Place]:
    return [place for place in by_name.values() if place.worse == "both"]

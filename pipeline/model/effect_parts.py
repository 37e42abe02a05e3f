"""Whether what was found holds alike in every crew, material and season: one found effect, asked part by part."""

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.model.evidence import SUGGESTIVE_P
from pipeline.model.pair_design import STUDIED, PairDesign
from pipeline.stats.hazards import HazardData, HazardFit, Prior
from pipeline.stats.intervals import Floats, log_error, ratio_interval
from pipeline.stats.part_effects import differences_p, part_effects, parts_of, spread_between

LEAST_CREWS, LEAST_EVENTS_A_CREW = 3, 2.0
MOST_SPREAD_SEEN = 0.7  # crews must be seen to differ once one sd of theirs is twice the ratio
LEAST_EVENTS, MOST_ERROR = 5, 0.7  # of a level: an effect of four times must not pass for none
LEVELS_SD = 2.0  # prior of a level's log ratio about the common one: so wide that it only keeps ratios finite
MOST_CREWS = 60  # of more, single crews are not shown
SEASONS = ("December to February", "March to May", "June to August", "September to November")
NOT_RECORDED, ALL_CREWS = "not recorded", "all"
Rows = list[dict[str, Any]]


@dataclass(frozen=True)
class FoundEffect:
    """One effect as it was fitted, and its row of effects."""

    design: PairDesign
    data: HazardData
    prior: Prior
    fit: HazardFit
    row: dict[str, Any]

    @property
    def contrast(self) -> float:
        """The reported contrast in standard deviations of the deviation, signed towards the worse."""
        return float((self.row["contrast_to"] - self.row["contrast_from"]) / self.design.spread)

    @property
    def fitted(self) -> tuple[HazardData, Prior, HazardFit]:
        """What was fitted, under which prior, and the fit."""
        return self.data, self.prior, self.fit

    @property
    def inflation(self) -> float:
        """The reported variance over the model's own, 1 at least: how far crews as clusters widen the interval."""
        reported = log_error(self.row["contrast_low"], self.row["contrast_high"]) / abs(self.contrast)
        return max(1.0, float(reported**2 / self.fit.beta_covariance[STUDIED, STUDIED]))

    @cached_property
    def events(self) -> Floats:
        """(m,) first callbacks of each door."""
        return self.data.events.sum(axis=1)

    def ratio(self, log_ratio: float, error: float) -> dict[str, float]:
        """Ratio and 95 % interval over the reported contrast, of a log ratio per standard deviation."""
        ends = ratio_interval(log_ratio, error, self.contrast)
        return dict(zip(("ratio", "ratio_low", "ratio_high"), ends, strict=True))


def door_levels(install_ids: pl.Series, installs: pl.DataFrame) -> dict[str, pl.Series]:
    """Material and season of fitting of each door, in the order of install_ids; as the covariates have them."""
    doors = pl.DataFrame({"install_id": install_ids}).join(
        installs.select("install_id", "material", "fitted_on"), on="install_id", how="left", maintain_order="left"
    )
    season = pl.col("fitted_on").dt.month() % 12 // 3
    named = doors.select(
        material=pl.col("material").str.strip_chars().str.to_lowercase(),
        season=season.replace_strict(dict(enumerate(SEASONS)), return_dtype=pl.String),
    ).fill_null(NOT_RECORDED)
    return {name: named[name] for name in ("material", "season")}


def by_level(found: FoundEffect, by: str, levels: pl.Series) -> Rows:
    """A row a level of the doors; p_differ where two levels or more can be told."""
    names, parts = np.unique(levels.to_numpy()[found.design.rows].astype(str), return_inverse=True)
    seen = parts_of(found.data, found.fit, STUDIED, parts)
    events = np.bincount(parts, found.events, len(names))
    error = abs(found.contrast) / np.sqrt(np.maximum(seen.information, 1e-12))
    told = np.flatnonzero((events >= LEAST_EVENTS) & (error <= MOST_ERROR))
    told = told if len(told) > 1 else told[:0]
    rows = [_counted(found, by, str(name), np.flatnonzero(parts == part)) for part, name in enumerate(names)]
    if len(told):
        p_value = differences_p(seen, told, found.inflation)
        own, errors = part_effects(found.fitted, STUDIED, parts, LEVELS_SD / abs(found.contrast))
        for part in told:
            error = float(errors[part]) * found.inflation**0.5
            rows[part] |= found.ratio(float(own[part]), error) | {"p_differ": p_value}
    return rows


def by_crew(found: FoundEffect, crews: NDArray[Any]) -> tuple[Rows, Rows]:
    """The row of all crews, and one a crew, drawn towards all, for where they are shown to differ.

    crews  names by the firm's crew number
    """
    whole = _counted(found, "crew", ALL_CREWS, np.arange(len(found.events)))
    ends = {"ratio": "contrast_ratio", "ratio_low": "contrast_low", "ratio_high": "contrast_high"}
    whole |= {name: found.row[column] for name, column in ends.items()}
    n_crews = len(found.design.crews)
    if n_crews < LEAST_CREWS or found.events.sum() < LEAST_EVENTS_A_CREW * n_crews:
        return [whole], []
    seen = parts_of(found.data, found.fit, STUDIED, found.data.groups)
    spread, size = spread_between(seen), abs(found.contrast)
    if not spread.sd_seen * size <= MOST_SPREAD_SEEN:
        return [whole], []
    whole |= {"spread": spread.sd * size, "spread_high": spread.sd_high * size, "p_differ": spread.p_value}
    may_differ = spread.sd > 0 and spread.p_value <= SUGGESTIVE_P and n_crews <= MOST_CREWS
    return [whole], _crew_rows(found, spread.sd, crews) if may_differ else []


def _crew_rows(found: FoundEffect, sd: float, crews: NDArray[Any]) -> Rows:
    own, errors = part_effects(found.fitted, STUDIED, found.data.groups, sd)
    edges = np.searchsorted(found.data.groups, np.arange(len(own) + 1))
    rows = []
    for part, crew in enumerate(found.design.crews):
        doors = np.arange(edges[part], edges[part + 1])
        name = str(crews[crew]) if crews[crew] != ALL_CREWS else f"crew {ALL_CREWS}"
        rows.append(_counted(found, "crew", name, doors) | found.ratio(float(own[part]), float(errors[part])))
    return rows


def _counted(found: FoundEffect, by: str, level: str, doors: NDArray[np.int64]) -> dict[str, Any]:
    keys = {"fault": found.row["fault"], "deviation": found.row["deviation"], "by": by, "level": level}
    return keys | {"doors": len(doors), "events": int(found.events[doors].sum()), "p_differ": None}

"""Doors: sites, sizes, surroundings, dates, and which crew fits them."""

from dataclasses import dataclass

import numpy as np
import polars as pl

from pipeline.demo.arrays import Floats, Ints, pick
from pipeline.demo.crews import Crews
from pipeline.demo.scenario import Scenario

EXPOSURES = {"sheltered": 0.4, "moderate": 0.4, "severe": 0.2}
STOREYS = {"ground": 0.85, "first": 0.12, "second": 0.03}
MATERIALS = {"aluminium": 0.5, "pvc-u": 0.3, "timber": 0.15, "steel": 0.05}
SUBSTRATES = {"brick": 0.45, "block": 0.25, "timber frame": 0.2, "steel": 0.1}
COMPASS = dict.fromkeys(("N", "NE", "E", "SE", "S", "SW", "W", "NW"), 1.0)
HANDOVER_DAYS = (0, 0, 1, 1, 2, 3, 5, 8)  # after fitting; chosen by chance


@dataclass(frozen=True)
class Doors:
    """installs: the canonical record. crew, site: numbers per door. Day numbers count from the first day.

    traits  name to standard units per door, as the faults' `mix` wants them
    """

    installs: pl.DataFrame
    crew: Ints
    site: Ints
    fitted_day: Ints
    started_day: Ints
    removed_day: Floats
    traits: dict[str, Floats]

    def column(self, name: str) -> Floats:
        """A numeric column of the installs."""
        return self.installs[name].to_numpy().astype(np.float64)


def draw_doors(scenario: Scenario, crews: Crews, rng: np.random.Generator) -> Doors:
    """All doors of the firm, in order of fitting; doors of one site share crew, days and surroundings."""
    n = scenario.doors
    site = _sites(n, rng)
    day = np.sort(_fitting_days(scenario, int(site[-1]) + 1, rng))
    about = _surroundings(int(site[-1]) + 1, rng)[site.tolist()].with_columns(_sizes(n, rng))
    traits = _traits(about)
    hardness = traits["wide"] + traits["heavy"] + traits["severe"] + traits["replacement"]
    crew = _assign(day, hardness, site, crews, scenario, rng)[site]
    fitted = day[site]
    started = np.minimum(fitted + rng.choice(HANDOVER_DAYS, int(site[-1]) + 1)[site], scenario.days)
    removed = started + rng.exponential(365.25 / max(scenario.removed_a_year, 1e-9), n)
    surveyed = fitted - rng.integers(10, 60, int(site[-1]) + 1)[site]
    days = {"surveyed_on": surveyed, "fitted_on": fitted, "handed_over_on": started, "removed_on": removed}
    installs = _record(about, crews, scenario, {"crew": crew, "site": site}, days)
    return Doors(installs, crew, site, fitted, started, removed, traits)


def _sites(n: int, rng: np.random.Generator) -> Ints:
    sizes = rng.choice([1, 2, 3, 4], n, p=[0.82, 0.13, 0.03, 0.02])
    return np.repeat(np.arange(n), sizes)[:n].astype(np.int64)


def _fitting_days(scenario: Scenario, sites: int, rng: np.random.Generator) -> Ints:
    # density 1 + growth * t on 0..1, by inversion
    u, g = rng.random(sites), max(scenario.growth, 1e-9)
    return (((np.sqrt(1 + u * (2 * g + g * g)) - 1) / g) * (scenario.days - 1)).astype(np.int64)


def _surroundings(sites: int, rng: np.random.Generator) -> pl.DataFrame:
    material = pick(MATERIALS, sites, rng)
    dark = rng.random(sites) < np.where(material.to_numpy() == "aluminium", 0.7, 0.35)
    return pl.DataFrame(
        {
            "product": pick({"Fold 60": 0.5, "Fold 75": 0.35, "Fold 90": 0.15}, sites, rng),
            "material": material,
            "colour": np.where(dark, "dark", "light"),
            "exposure": pick(EXPOSURES, sites, rng),
            "storey": pick(STOREYS, sites, rng),
            "orientation": pick(COMPASS, sites, rng),
            "substrate": pick(SUBSTRATES, sites, rng),
            "work": pick({"new": 0.45, "replacement": 0.55}, sites, rng),
        }
    )


def _sizes(n: int, rng: np.random.Generator) -> list[pl.Series]:
    leaves = rng.choice([2, 3, 4, 5, 6], n, p=[0.15, 0.35, 0.25, 0.15, 0.10])
    width = np.round(leaves * rng.normal(850.0, 80.0, n).clip(620.0, 1050.0) / 5) * 5
    height = np.round(rng.normal(2120.0, 60.0, n).clip(1950.0, 2400.0) / 5) * 5
    glass = rng.choice([8.0, 10.0, 12.0, 12.0, 14.0], n)
    # 2.5 kg for each square metre and millimetre of glass, and 15 kg of frame
    weight = np.round(2.5 * glass * (width / leaves - 120) * (height - 120) * 1e-6 + 15.0, 1)
    columns = {"leaves": leaves, "width_mm": width, "height_mm": height, "glass_mm": glass, "leaf_weight_kg": weight}
    return [pl.Series(name, values) for name, values in columns.items()]


def _traits(about: pl.DataFrame) -> dict[str, Floats]:
    def flag(column: str, word: str) -> Floats:
        return (about[column] == word).to_numpy().astype(np.float64)

    return {
        "wide": np.log(about["width_mm"].to_numpy() / 3050.0) / 0.35,
        "leaves": (about["leaves"].to_numpy() - 3.7) / 1.2,
        "heavy": (about["leaf_weight_kg"].to_numpy() - 52.0) / 11.0,
        "severe": flag("exposure", "severe"),
        "moderate": flag("exposure", "moderate"),
        "upper": 1.0 - flag("storey", "ground"),
        "dark": flag("colour", "dark"),
        "replacement": flag("work", "replacement"),
    }


def _assign(
    day: Ints, hardness: Floats, site: Ints, crews: Crews, scenario: Scenario, rng: np.random.Generator
) -> Ints:
    """A crew for each site: by volume, among those that have joined, careful ones first where the site is hard."""
    sites = len(day)
    hard = np.bincount(site, hardness, sites) / np.bincount(site, minlength=sites)
    hard = (hard - hard.mean()) / (hard.std() or 1.0)
    careful = -crews.general / (crews.general.std() or 1.0)
    crew = np.empty(sites, np.int64)
    for start in range(0, sites, 20_000):
        part = slice(start, min(start + 20_000, sites))
        lean = np.log(crews.volume) + scenario.hard_to_careful * hard[part, None] * careful
        lean = np.where(crews.joined_day <= day[part, None], lean, -np.inf)
        crew[part] = np.argmax(lean + rng.gumbel(size=lean.shape), axis=1)
    return crew


def _record(
    about: pl.DataFrame, crews: Crews, scenario: Scenario, numbers: dict[str, Ints], days: dict[str, Ints | Floats]
) -> pl.DataFrame:
    order = pl.int_range(1, pl.len() + 1)
    site = pl.lit(pl.Series(numbers["site"] + 1)).cast(pl.String).str.zfill(5)
    dates = [_dates(name, day, scenario) for name, day in days.items()]
    return about.with_columns(
        pl.format("D-{}", order.cast(pl.String).str.zfill(6)).alias("install_id"),
        pl.format("J{}", order + 200_000).alias("job_no"),
        pl.lit(pl.Series(crews.names).gather(numbers["crew"])).alias("crew"),
        pl.format("Customer {}", site).alias("customer"),
        pl.format("{} Example Row", pl.lit(pl.Series(numbers["site"] % 180 + 1))).alias("address"),
        pl.format("ZZ{} {}EX", pl.lit(pl.Series(numbers["site"] % 40 + 1)), pl.lit(pl.Series(numbers["site"] % 9 + 1)))
        .alias("postcode"),
        *dates,
    ).select(INSTALL_COLUMNS)  # fmt: skip


def _dates(name: str, day: Ints | Floats, scenario: Scenario) -> pl.Series:
    start = (scenario.starts_on - type(scenario.starts_on)(1970, 1, 1)).days
    number = pl.Series(name, np.floor(day).clip(-30_000, 30_000).astype(np.int32) + start).cast(pl.Date)
    return number.set(pl.Series(day > scenario.days), None)


INSTALL_COLUMNS = [
    "install_id", "job_no", "crew", "product", "material", "colour", "leaves", "width_mm", "height_mm", "glass_mm",
    "leaf_weight_kg", "storey", "exposure", "orientation", "substrate", "work", "surveyed_on", "fitted_on",
    "handed_over_on", "removed_on", "customer", "address", "postcode",
]  # fmt: skip

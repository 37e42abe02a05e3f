"""What is true of a simulated firm: the total effect of each deviation on each fault, and who is careless where.

A total effect is the direct one and what a deviation adds through others that a fair comparison leaves free: those of
later steps, and of its own step where an act makes a geometry. The chain is additive and hazards are log-linear, so
the effect is the direct one plus the products along the paths.
"""

import polars as pl

from pipeline.catalogue.rows import Catalogue, Deviation
from pipeline.demo.arrays import Floats
from pipeline.demo.crews import Crews
from pipeline.demo.scenario import Scenario
from pipeline.demo.world import CHAIN, FAULTS

PLANTED_PER_SD = 0.6


def true_effects(catalogue: Catalogue, true: dict[str, Floats], faults: list[str], scenario: Scenario) -> pl.DataFrame:
    """One row per fault and cause: per, log_ratio for `per` more, log_ratio_per_sd, is_cause, is_planted."""
    causes = [row for row in catalogue.deviations if row.role == "cause" and row.name in true]
    rows = [
        (fault, row.name, row.step, row.per, row.per * total_effect(row, fault, catalogue, scenario.effect_scale),
         float(true[row.name].std()) / row.per)
        for fault in faults for row in causes
    ]  # fmt: skip
    text, number = pl.String(), pl.Float64()  # said, since a firm without callbacks has no rows to tell them by
    schema = {"fault": text, "deviation": text, "step": text, "per": number, "log_ratio": number, "sd": number}
    per_sd = pl.col("log_ratio") * pl.col("sd")
    return pl.DataFrame(rows, schema=schema, orient="row").with_columns(
        log_ratio_per_sd=per_sd, is_cause=pl.col("log_ratio") != 0.0, is_planted=per_sd.abs() >= PLANTED_PER_SD
    )


def total_effect(cause: Deviation, fault: str, catalogue: Catalogue, scale: float) -> float:
    """Log hazard ratio for one unit of `cause`, directly and through what is not held fixed beside it."""
    effects = FAULTS[fault].effects if fault in FAULTS else {}

    def through(name: str) -> float:
        later = [link for link in CHAIN.items() if name in link[1]]
        return scale * effects.get(name, 0.0) + sum(
            scale * links[name] * through(whole)
            for whole, links in later
            if not is_held_fixed(catalogue.deviation(whole), cause, catalogue)
        )

    return through(cause.name)


def is_held_fixed(other: Deviation, cause: Deviation, catalogue: Catalogue) -> bool:
    """Whether `other` is adjusted for beside `cause`: earlier steps, and its own step but no geometry for an act."""
    order = catalogue.steps.index
    if order(other.step) != order(cause.step):
        return order(other.step) < order(cause.step)
    return other.kind == "act" or cause.kind == "geometry"


def true_carelessness(crews: Crews, steps: tuple[str, ...]) -> pl.DataFrame:
    """One row per crew and step: carelessness (1 is typical), is_weak (the crew planted as weak in that step)."""
    rows = [
        (crew, step, float(crews.carelessness[i, j]), bool(crews.weak[j] == i))
        for i, crew in enumerate(crews.names) for j, step in enumerate(steps)
    ]  # fmt: skip
    return pl.DataFrame(rows, schema=["crew", "step", "carelessness", "is_weak"], orient="row")

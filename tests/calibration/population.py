"""What fits say of large firms without chance: `python -m tests.calibration.population` writes population.csv anew.

The effect that the model stands for in the population, for every cause; a quarter of a minute on two firms of 60,000.
"""

from pathlib import Path

import polars as pl

from pipeline.demo import simulate
from pipeline.demo.ideal import population_effects

PAIR = ["fault", "deviation"]
FILE = Path(__file__).with_name("population.csv")


def population(doors: int, seeds: tuple[int, ...]) -> pl.DataFrame:
    """fault, deviation, log_ratio for `per` more: the mean over firms of so many doors."""
    firms = [simulate(doors=doors, crews=60, seed=seed) for seed in seeds]
    found = [population_effects(firm, firm.truth.filter("is_cause")) for firm in firms]
    return pl.concat(found).group_by(PAIR).agg(pl.col("log_ratio").mean()).sort(PAIR)


if __name__ == "__main__":
    population(60_000, (9001, 9002)).with_columns(pl.col("log_ratio").round(5)).write_csv(FILE)

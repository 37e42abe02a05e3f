"""One simulated firm through the real pipeline, beside its truth: `python -m tests.truth_study SEED CREWS FOLDER`.

Leaves pairs.parquet (effects beside truth and ideal fit) and steps.parquet (weak steps beside the truth) in FOLDER;
with the word `population` in place of SEED, population.parquet: the effects that the model stands for.
"""

import sys
import tempfile
from pathlib import Path

import duckdb
import polars as pl

from pipeline.build import BuildInputs, build_results
from pipeline.demo import ideal_fit, simulate, write_firm
from pipeline.demo.ideal import population_effects
from pipeline.demo.simulate import Firm
from pipeline.demo.true_outs import true_out_shares
from pipeline.ingest import take_in
from pipeline.progress import Silence
from pipeline.publish import RESULTS
from pipeline.run import RECORDS, source_tables
from pipeline.settings import load_settings

DOORS = 4000
PAIR = ["fault", "deviation"]


def tables_of(firm: Firm, folder: Path, tables: tuple[str, ...]) -> dict[str, pl.DataFrame]:
    """The firm's records written, taken in and built into these tables."""
    write_firm(firm, folder / "records", "parquet")
    (folder / "out").mkdir()
    settings, catalogue = load_settings(folder / "records")
    intake = take_in(folder / "records", folder / "out", settings, catalogue, Silence())
    sources = source_tables(settings, catalogue, intake)
    build_results(BuildInputs(folder / "out" / RECORDS, sources, only=tables), folder / "out" / RESULTS, Silence())
    with duckdb.connect(folder / "out" / RESULTS, read_only=True) as results:
        return {name: results.table(name).pl() for name in tables}


def beside_truth(effects: pl.DataFrame, firm: Firm) -> pl.DataFrame:
    """Effects of causes beside their truth and the ideal fit, logs of ratios for `per` more."""
    ideal = ideal_fit(firm).rename({"log_ratio": "ideal", "se": "ideal_se", "contrast_se": "ideal_contrast_se"})
    return (
        effects.filter(pl.col("role") == "cause")
        .join(firm.truth.select(*PAIR, "log_ratio", "is_cause", "is_planted"), on=PAIR, how="full", coalesce=True)
        .join(ideal.select(*PAIR, "ideal", "ideal_se", "ideal_contrast_se", "is_strong"), on=PAIR, how="left")
        .rename({"log_ratio": "total_effect", "is_strong": "is_strong_in_ideal"})
        .with_columns(
            pl.col("hazard_ratio").log().alias("estimate"),
            pl.col("hr_low").log().alias("low"),
            pl.col("hr_high").log().alias("high"),
        )
    )


def study(seed: int, crews: int, folder: Path) -> None:
    """Writes both tables of one firm."""
    firm = simulate(doors=DOORS, crews=crews, seed=seed)
    with tempfile.TemporaryDirectory() as scratch:
        tables = tables_of(firm, Path(scratch), ("effects", "weak_steps"))
    beside_truth(tables["effects"], firm).write_parquet(folder / "pairs.parquet")
    steps = firm.carelessness.join(true_out_shares(firm), on=["crew", "step"]).join(
        tables["weak_steps"].select("crew", "step", "out_share"), on=["crew", "step"], how="left"
    )
    steps.write_parquet(folder / "steps.parquet")


def population(folder: Path) -> None:
    """Writes what fits without chance say, on the mean of two large firms."""
    firms = [simulate(doors=60_000, crews=60, seed=seed) for seed in (9001, 9002)]
    found = [population_effects(firm, firm.truth.filter("is_cause")) for firm in firms]
    pl.concat(found).group_by(PAIR).agg(pl.col("log_ratio").mean()).write_parquet(folder / "population.parquet")


if __name__ == "__main__":
    what, crews, folder = sys.argv[1], int(sys.argv[2]), Path(sys.argv[3])
    folder.mkdir(parents=True, exist_ok=True)
    if what == "population":
        population(folder)
    else:
        study(int(what), crews, folder)

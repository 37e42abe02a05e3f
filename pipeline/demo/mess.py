"""The invented firm's records as messy as real ones: every kind of damage at least once, most of the rows sound."""

import numpy as np
import polars as pl

from pipeline.demo.arrays import words_at
from pipeline.demo.cells import as_text, blank, chance_rows, contradict_some, overwrite, repeat_some
from pipeline.demo.habits import Habits, written_down
from pipeline.demo.notes import NOTES
from pipeline.demo.simulate import Firm

OFTEN_EMPTY = {
    "orientation": 0.12, "substrate": 0.08, "glass_mm": 0.10, "leaf_weight_kg": 0.08, "handed_over_on": 0.06,
    "surveyed_on": 0.15, "colour": 0.02, "job_no": 0.01,
}  # fmt: skip
BAD_DATES = ("31/02/2025", "2024-13-05", "05/06/24", "2052-03-01", "soon")


def messy_records(firm: Firm, habits: Habits) -> dict[str, pl.DataFrame]:
    """The seven records as text cells, by name."""
    rng = np.random.default_rng([firm.scenario.seed, 9])
    records = {name: as_text(table) for name, table in firm.records.items()}
    return records | {
        "installs": _installs(records["installs"], rng),
        "readings": _readings(written_down(firm.readings, habits, rng), rng),
        "checks": _checks(records["checks"], rng),
        "callbacks": _callbacks(records["callbacks"], rng),
    }


def _installs(table: pl.DataFrame, rng: np.random.Generator) -> pl.DataFrame:
    for column, share in OFTEN_EMPTY.items():
        table = blank(table, column, share, rng)
    table = _shared_job_numbers(table)
    table = overwrite(table, "fitted_on", chance_rows(table, 0.0015, rng), ["31/02/2025", None])
    table = overwrite(table, "surveyed_on", chance_rows(table, 0.003, rng), BAD_DATES)
    table = overwrite(table, "width_mm", chance_rows(table, 0.0015, rng), ["-3400", "4.2 m"])
    table = overwrite(table, "work", chance_rows(table, 0.002, rng), ["replacment", "extension"])
    table = overwrite(table, "crew", chance_rows(table, 0.001, rng), ["Crew Adler"])
    table = contradict_some(table, chance_rows(table, 0.001, rng), "leaves", "9")
    return repeat_some(table, chance_rows(table, 0.004, rng))


def _shared_job_numbers(table: pl.DataFrame) -> pl.DataFrame:
    """Doors of one customer and day share the first one's job number, so the number alone does not name a door."""
    return table.with_columns(pl.col("job_no").first().over("customer", "fitted_on", "crew"))


def _readings(table: pl.DataFrame, rng: np.random.Generator) -> pl.DataFrame:
    table = table.filter(pl.Series(rng.random(table.height) > 0.012))  # cells left empty on the sheet
    for column, share in (("instrument", 0.05), ("read_on", 0.02), ("read_by", 0.10)):
        table = blank(table, column, share, rng)
    for column, count, words in (
        ("measure", 24, ["sil_height", "jam_face", "hed_gap", "diagonal"]),
        ("unit", 18, ["mil", "inchs", "mmm"]),
        ("value", 12, ["", "-", "n/a", "?"]),
        ("read_on", 12, BAD_DATES),
        ("install_id", 14, ["D-009999", "D-00412", "TOTAL"]),
    ):
        table = overwrite(table, column, chance_rows(table, count / table.height, rng), words)
    gaps = np.flatnonzero((table["measure"] == "head_gap").to_numpy())
    table = overwrite(table, "value", rng.choice(gaps, 6, replace=False), ["-4", "350"])
    table = contradict_some(table, chance_rows(table, 16 / table.height, rng), "value", "9")
    return repeat_some(table, chance_rows(table, 120 / table.height, rng))


def _checks(table: pl.DataFrame, rng: np.random.Generator) -> pl.DataFrame:
    for column, count, words in (
        ("outcome", 15, ["yes", "done", "failed"]),
        ("check", 10, ["toe_and_heal", "end_dam_sealed", "tidy"]),
        ("checked_on", 8, BAD_DATES),
        ("install_id", 5, ["D-009998"]),
    ):
        table = overwrite(table, column, chance_rows(table, count / table.height, rng), words)
    not_there = chance_rows(table, 0.01, rng)
    table = overwrite(table, "outcome", not_there, ["not_applicable"])
    return repeat_some(blank(table, "checked_on", 0.05, rng), chance_rows(table, 40 / table.height, rng))


def _callbacks(table: pl.DataFrame, rng: np.random.Generator) -> pl.DataFrame:
    table = _with_notes(table, rng)
    only_job = rng.random(table.height)
    table = table.with_columns(
        pl.when(pl.lit(pl.Series(only_job < 0.15))).then(None).otherwise("install_id").alias("install_id"),
        pl.when(pl.lit(pl.Series(only_job < 0.04))).then(None).otherwise("job_no").alias("job_no"),
    )
    for column, share in (("fault", 0.05), ("hours", 0.06), ("cost", 0.12), ("visited_on", 0.05), ("postcode", 0.06),
                          ("logged_on", 0.08)):  # fmt: skip
        table = blank(table, column, share, rng)
    for column, count, words in (
        ("fault", 6, ["droped_leaf", "leak", "lock"]),
        ("reported_on", 4, ["31/02/2025", None, "yesterday"]),
        ("responsibility", 4, ["fitter", "us"]),
        ("hours", 5, ["1h30", "-2"]),
        ("install_id", 5, ["D-007777", "D-9"]),
    ):
        table = overwrite(table, column, chance_rows(table, count / table.height, rng), words)
    return repeat_some(table, chance_rows(table, 6 / table.height, rng))


def _with_notes(table: pl.DataFrame, rng: np.random.Generator) -> pl.DataFrame:
    """A note for most, and two faults in one cell for some."""
    draw = rng.random(table.height)
    notes = [
        NOTES[fault][int(u * 997) % len(NOTES[fault])] if fault in NOTES and u < 0.85 else None
        for fault, u in zip(table["fault"], draw, strict=True)
    ]
    second = words_at(["uneven_gaps", "draught", "stiff_running"], rng.integers(0, 3, table.height))
    is_double = pl.Series(rng.random(table.height) < 0.03) & (table["fault"] != second) & (table["fault"] != "no_fault")
    return table.with_columns(
        pl.Series("note", notes, dtype=pl.String),
        pl.when(pl.lit(is_double)).then(pl.col("fault") + ";" + pl.lit(second)).otherwise("fault").alias("fault"),
    )

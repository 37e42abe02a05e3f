"""The intervals that a page tells, and whether a row of a table holds them: pages read, they do not compute."""

import re
import tomllib
from pathlib import Path

import numpy as np
import polars as pl

import pipeline.report as pages_package
from tests.report.invented import Frames

NUMBER = r"−?\d[\d,]*(?:\.\d+)?"
INTERVAL = re.compile(rf"(?<![\d.,])({NUMBER})[^\d()]{{0,9}}\(({NUMBER}) to ({NUMBER})\)")
Told = tuple[str, str, str]
CLAIMS = Path(pages_package.__file__).parent / "claims.toml"


def told(text: str) -> set[Told]:
    """The intervals in the text of a page: estimate and both ends, as written."""
    return set(INTERVAL.findall(text.replace("\N{NO-BREAK SPACE}", " ")))


def reach(words: str) -> tuple[float, float]:
    """The values that are written so: half a unit of the last digit to both sides; zeros at the end may be rounded."""
    plain = words.replace(",", "").replace("−", "-")
    decimals = len(plain.partition(".")[2])
    zeros = len(plain) - len(plain.rstrip("0")) if not decimals and plain.strip("-0") else 0
    most = 3 if len(plain.strip("-")) >= 5 else 2  # tens of thousands, of money, are told to the thousand
    half = 0.5 * 10.0 ** (min(zeros, most) - decimals) * (1 + 1e-9)
    return float(plain) - half, float(plain) + half


def rows_of(tables: Frames) -> dict[int, np.ndarray]:
    """Every row's numbers, tables with as many number columns together."""
    matrices: dict[int, list[np.ndarray]] = {}
    for frame in tables.values():
        numbers = frame.select(pl.col(pl.Float64, pl.Int64, pl.Int32))
        if numbers.width > 2 and numbers.height:
            matrices.setdefault(numbers.width, []).append(numbers.unique().to_numpy().astype(float))
    return {width: np.vstack(parts) for width, parts in matrices.items()}


def is_in_a_row(words: Told, rows: dict[int, np.ndarray]) -> bool:
    """Estimate and ends stand in three columns of a row: as they are, in per cent, or told in the other direction."""
    for matrix in rows.values():
        for scale in (1, 100, -1):
            scaled = scale * matrix
            hits = [((scaled >= low) & (scaled <= high)).any(axis=1) for low, high in map(reach, words)]
            if (hits[0] & hits[1] & hits[2]).any():
                return True
    return False


def told_rows(tables: Frames) -> dict[int, np.ndarray]:
    """All rows that a page may tell an interval from."""
    return rows_of(tables | {"in money": in_money(tables["effects"]), "claims": study_of_claims()})


def in_money(effects: pl.DataFrame) -> pl.DataFrame:
    """Callbacks spared a year at what one of them costs; the row has that cost for its estimate."""
    each = pl.col("avoidable_cost_per_year") / pl.col("avoidable_per_year")
    return effects.select((each * pl.col(f"avoidable_{part}")).alias(part) for part in ("per_year", "low", "high"))


def study_of_claims() -> pl.DataFrame:
    """The study that the methods sheet tells of, which travels with the code and is no firm's."""
    study = tomllib.loads(CLAIMS.read_text("utf-8"))
    rows = [study["all"], *study["scenario"]]
    return pl.DataFrame([{part: row.get(part) for part in ("share", "share_low", "share_high")} for row in rows])

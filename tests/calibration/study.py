"""Simulates the firms of the study, measures each, and keeps what was measured: it can be stopped and taken up again.

Kept under a name made of the code that it comes from, so that figures of two states of the code never mix.
"""

import hashlib
from collections.abc import Iterable, Iterator
from pathlib import Path

import polars as pl

from pipeline.demo.scenarios import SCENARIOS, scenario_firm
from pipeline.graph import standard_graph
from pipeline.stats.blas import one_blas_thread
from tests.calibration.in_memory import tables_in_memory
from tests.calibration.parts import PARTS, Part

ROOT = Path(__file__).parents[2]
# What a figure depends on.
CODE = (
    "dbt_like_sql/**/*.sql", "pipeline/catalogue/*", "pipeline/demo/*.py", "pipeline/model/**/*.py",
    "pipeline/stats/*.py", "pipeline/settings.py", "tests/calibration/in_memory.py", "tests/calibration/parts.py",
    "tests/calibration/study.py",
)  # fmt: skip


def state_of_the_code() -> str:
    """Twelve digits that change with whatever the figures depend on."""
    digest = hashlib.sha256()
    for path in sorted(path for pattern in CODE for path in ROOT.glob(pattern) if path.is_file()):
        digest.update(path.relative_to(ROOT).as_posix().encode() + b"\0" + path.read_bytes() + b"\0")
    return digest.hexdigest()[:12]


def seeds_of(scenario: str, firms: int, seed: int) -> range:
    """The seeds of a scenario's firms: no two scenarios share one."""
    first = 1_000_000 * seed + 10_000 * (list(SCENARIOS).index(scenario) + 1)
    return range(first, first + firms)


def parts_here() -> tuple[Part, ...]:
    """The parts whose tables exist."""
    models = standard_graph().models
    return tuple(part for part in PARTS if all(table in models for table in part.tables))


def in_turn(scenarios: Iterable[str], firms: int, seed: int) -> Iterator[tuple[str, int]]:
    """Scenario and seed of every firm: the first of each scenario, then the second of each, and so on."""
    turns = [seeds_of(scenario, firms, seed) for scenario in scenarios]
    for number in range(firms):
        yield from ((scenario, seeds[number]) for scenario, seeds in zip(scenarios, turns, strict=True))


def measured(scenario: str, seed: int, kept: Path) -> bool:
    """Measures one firm and keeps what was found in the folder `kept`; False where it was there already."""
    folder = kept / scenario.replace("%", "percent").replace(" ", "-") / str(seed)
    wanted = [part for part in parts_here() if not part.only or scenario in part.only]
    missing = [part for part in wanted if not (folder / f"{part.name}.parquet").is_file()]
    if not missing:
        return False
    with one_blas_thread():
        firm = scenario_firm(scenario, seed)
        asked = tuple({table for part in missing for table in part.tables})
        tables = tables_in_memory(firm, asked, without_variants=True)
        for part in missing:
            folder.mkdir(parents=True, exist_ok=True)
            path = folder / f"{part.name}.parquet"
            rows = part.measure(firm, {name: tables[name] for name in part.tables})
            rows.with_columns(scenario=pl.lit(scenario), seed=pl.lit(seed)).write_parquet(path.with_suffix(".part"))
            path.with_suffix(".part").replace(path)
    return True


def gathered(kept: Path) -> dict[str, pl.DataFrame]:
    """What was measured of all firms so far, by part; columns `scenario` and `seed` say of which."""
    found: dict[str, list[pl.DataFrame]] = {}
    for path in sorted(kept.glob("*/*/*.parquet")):
        found.setdefault(path.stem, []).append(pl.read_parquet(path))
    return {name: pl.concat(frames, how="diagonal_relaxed") for name, frames in found.items()}

"""Simulates the firms of the study, measures each, and keeps what was measured: it can be stopped and taken up again.

Every part is kept under a name made of the code that it comes from, so that figures of two states of the code never
mix, and a change makes only those parts anew that it can have changed.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import polars as pl

from pipeline.building.fingerprints import digest, modules_imported
from pipeline.demo import scenarios as simulator
from pipeline.demo.scenarios import SCENARIOS, scenario_firm
from pipeline.graph import Graph, standard_graph
from pipeline.stats.blas import one_blas_thread
from tests.calibration import in_memory
from tests.calibration.in_memory import tables_in_memory
from tests.calibration.parts import PARTS, Part

CATALOGUE = Path(simulator.__file__).parents[1] / "catalogue"


@dataclass(frozen=True)
class Kept:
    """Where what was measured lies: folder / part / state of the code / scenario / firm.parquet."""

    folder: Path

    @cached_property
    def _graph(self) -> Graph:
        return standard_graph()

    @cached_property
    def _states(self) -> dict[str, str]:
        return {part.name: state_of(part, self._graph) for part in PARTS}

    def path(self, part: Part, scenario: str, seed: int) -> Path:
        """The file of one part of one firm."""
        return self.folder_of(part) / scenario.replace("%", "percent").replace(" ", "-") / f"{seed}.parquet"

    def folder_of(self, part: Part) -> Path:
        """Where a part is kept as the code stands now."""
        return self.folder / part.name / self._states[part.name]


def state_of(part: Part, graph: Graph) -> str:
    """A name that changes with whatever a part's figures depend on: simulator, catalogue, models, the part itself."""
    tables = set(part.tables).union(*(graph.upstream(table) for table in part.tables)) & set(graph.models)
    models = [graph.models[table].path for table in sorted(tables)]
    roots = [Path(simulator.__file__), Path(in_memory.__file__), part.file, *models]
    python = [path for path in roots if path.suffix == ".py"]
    files = {*roots, *CATALOGUE.glob("*.toml")}.union(*(modules_imported(path) for path in python))
    return digest(path.name + path.read_text(encoding="utf-8") for path in sorted(files))[:12]


def seeds_of(scenario: str, firms: int, seed: int) -> range:
    """The seeds of a scenario's firms: no two scenarios share one."""
    first = 1_000_000 * seed + 10_000 * (list(SCENARIOS).index(scenario) + 1)
    return range(first, first + firms)


def in_turn(scenarios: Iterable[str], firms: int, seed: int) -> Iterator[tuple[str, int]]:
    """Scenario and seed of every firm: the first of each scenario, then the second of each, and so on."""
    turns = [seeds_of(scenario, firms, seed) for scenario in scenarios]
    for number in range(firms):
        yield from ((scenario, seeds[number]) for scenario, seeds in zip(scenarios, turns, strict=True))


def measured(scenario: str, seed: int, kept: Kept, parts: tuple[Part, ...] = PARTS) -> bool:
    """Measures one firm and keeps what was found; False where all of it was there already."""
    wanted = [part for part in parts if not part.only or scenario in part.only]
    missing = [part for part in wanted if not kept.path(part, scenario, seed).is_file()]
    if not missing:
        return False
    with one_blas_thread():
        firm = scenario_firm(scenario, seed)
        asked = tuple({table for part in missing for table in part.tables})
        tables = tables_in_memory(firm, asked, without_variants=True)
        for part in missing:
            path = kept.path(part, scenario, seed)
            path.parent.mkdir(parents=True, exist_ok=True)
            rows = part.measure(firm, {name: tables[name] for name in part.tables})
            rows.with_columns(scenario=pl.lit(scenario), seed=pl.lit(seed)).write_parquet(path.with_suffix(".part"))
            path.with_suffix(".part").replace(path)
    return True


def gathered(kept: Kept, seed: int) -> dict[str, pl.DataFrame]:
    """What was measured so far by the code as it stands, by part, of the firms of a seed (see `seeds_of`)."""
    found = {}
    for part in PARTS:
        paths = sorted(kept.folder_of(part).glob(f"*/{seed}??????.parquet"))
        if paths:
            found[part.name] = pl.concat([pl.read_parquet(path) for path in paths], how="diagonal_relaxed")
    return found

"""`make bench`: measures what is promised of speed and memory, prints it, and ends with 1 where a promise is not kept.

Figures are ratios of things measured in turn in the same round, so that a busy machine slows both; of the rounds the
median counts. Firms are made in a temporary folder before anything is measured, and removed after.
"""

import argparse
import os
import platform
import shutil
import sys
import tempfile
from importlib.metadata import version
from pathlib import Path
from typing import Any

from tests.benchmarks import promises
from tests.benchmarks.measure import MISLEADING, Figures, run_job
from tests.benchmarks.promises import Verdict

LIBRARIES = ("duckdb", "polars", "numpy", "scipy", "pandas", "statsmodels", "scikit-learn", "glum", "typer")
SMALL, LARGE, WIDE, WORKBOOKS = "1m", "10m", "wide", "workbooks"
AGAINST_FLOOR = ("deviations", "taking_in", "all_tables")
PARTS = ("records", "sheets", "reference", "fit", "firm", "help")


def main() -> int:
    """The whole benchmark, or the parts asked for."""
    options = _options()
    for name in MISLEADING:  # before numpy is loaded
        os.environ.pop(name, None)
    print(_machine())
    verdicts: list[Verdict] = []
    with tempfile.TemporaryDirectory(prefix="fitback-bench-", dir=options.folder) as folder:
        bench = Bench(Path(folder), options.rounds, options.readings)
        for part in options.only or PARTS:
            verdicts += getattr(bench, part)()
    print()
    print(promises.table(verdicts))
    return 0 if all(verdict.is_kept for verdict in verdicts) else 1


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.run", description=__doc__.splitlines()[0])
    parser.add_argument("--rounds", type=int, default=5, help="how often everything is measured (5)")
    parser.add_argument("--readings", type=int, default=10_000_000, help="of the large firm (10,000,000)")
    parser.add_argument("--folder", help="where the firms are made, about 3 GB (the temporary folder)")
    parser.add_argument("--only", nargs="+", choices=PARTS, help="parts to measure (all)")
    return parser.parse_args()


def _machine() -> str:
    libraries = ", ".join(f"{name} {version(name)}" for name in LIBRARIES)
    load = f", load {os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else ""
    return (
        f"{platform.system()} {platform.machine()}, {os.cpu_count()} cores{load}; "
        f"Python {platform.python_version()}; {libraries}"
    )


class Bench:
    """The parts of the benchmark; each gives its verdicts."""

    def __init__(self, folder: Path, rounds: int, readings: int) -> None:
        self.folder = folder
        self.rounds = rounds
        self.sizes = {SMALL: readings // 10, LARGE: readings}
        self.figures = Figures()

    def records(self) -> list[Verdict]:
        """Reading, deviations, taking in and all tables, at both sizes."""
        for size in self.sizes:
            self._make(size)
        for number in range(self.rounds):
            for size in self.sizes:
                for job in ("floor", *AGAINST_FLOOR):
                    self._measure(job, size, f"round {number + 1}")
        verdicts = [self._against_floor(job) for job in AGAINST_FLOOR]
        peak = self.figures.peak(f"all_tables {LARGE}")
        verdicts.append(Verdict("all_tables: most memory", peak, promises.MOST_MIB, "MiB"))
        return verdicts + [self._growth(job) for job in AGAINST_FLOOR]

    def sheets(self) -> list[Verdict]:
        """A firm's own sheets: the same readings as one wide CSV, and fifty workbooks."""
        from tests.benchmarks.own_sheets import write_wide, write_workbooks

        self._make(LARGE)
        write_wide(self.folder / LARGE, self.folder / WIDE)
        write_workbooks(self.folder / WORKBOOKS)
        for number in range(self.rounds):
            for job, size in (("floor", LARGE), ("taking_in", WIDE), ("taking_in", WORKBOOKS)):
                self._measure(job, size, f"round {number + 1}")
        ratio = self.figures.ratio(f"taking_in {WIDE}", f"floor {LARGE}")
        seconds = self.figures.time(f"taking_in {WORKBOOKS}")
        return [
            Verdict("mapped wide CSV: against the read of the readings", ratio, promises.MOST_WIDE, "x"),
            Verdict("fifty workbooks of 2,000 rows", seconds, promises.MOST_WORKBOOK_SECONDS, "s"),
        ]

    def reference(self) -> list[Verdict]:
        """The same numbers by the pandas and statsmodels script."""
        from tests.benchmarks.equal import largest_differences

        self._make(LARGE)
        for number in range(self.rounds):
            self._measure("same_numbers", LARGE, f"round {number + 1}", keep=number == 0)
            self._measure("reference", LARGE, f"round {number + 1}", keep=number == 0)
        found = largest_differences(self._out("same_numbers") / "results.duckdb", self._out("reference"))
        worst = max(found, key=lambda name: found[name])
        slower = self.figures.ratio(f"reference {LARGE}", f"same_numbers {LARGE}")
        larger = self.figures.peak(f"reference {LARGE}") / self.figures.peak(f"same_numbers {LARGE}")
        return [
            Verdict(f"reference script: largest difference of a number ({worst})", found[worst], promises.SAME, ""),
            Verdict("reference script: times slower", slower, promises.LEAST_SLOWER, "x", at_most=False),
            Verdict("reference script: times the memory", larger, promises.LEAST_LARGER, "x", at_most=False),
        ]

    def fit(self) -> list[Verdict]:
        """One hazard fit against general libraries."""
        import numpy as np

        from tests.benchmarks import hazard_fits as fits

        problem = fits.make_problem()
        chosen = {"fitback": fits.by_project, **fits.LIBRARIES}
        steps = {name: fits.fewest_steps(problem, fit) for name, fit in chosen.items()}
        for number in range(self.rounds):
            for name, fit in chosen.items():
                seconds = fits.seconds(problem, fit, steps[name])
                self.figures.add(f"fit {name}", {"seconds": seconds, "peak_mib": 0.0})
                print(f"round {number + 1}  one fit by {name}: {seconds:.3f} s", flush=True)
        fastest = min(fits.LIBRARIES, key=lambda name: self.figures.time(f"fit {name}"))
        exact = fits.by_statsmodels(problem, steps["statsmodels"] + 2)
        apart = float(np.abs(fits.by_project(problem, steps["fitback"]) - exact).max())
        clustered = float(np.abs(fits.project_clustered(problem) / fits.statsmodels_clustered(problem) - 1).max())
        ratio = self.figures.ratio(f"fit {fastest}", "fit fitback")
        return [
            Verdict(f"one hazard fit: times faster than {fastest}", ratio, promises.LEAST_FIT, "x", at_most=False),
            Verdict("one hazard fit: largest difference of a coefficient", apart, promises.SAME, ""),
            Verdict("one hazard fit: clustered errors, relative", clustered, promises.SAME_CLUSTERED, ""),
        ]

    def firm(self) -> list[Verdict]:
        """The simulator's firm of 4,000 doors, from records to pages."""
        from pipeline.demo.simulate import simulate
        from pipeline.demo.write import write_firm

        write_firm(simulate(doors=4000, crews=24, seed=1), self.folder / "firm")
        for number in range(self.rounds):
            self._measure("whole_run", "firm", f"round {number + 1}")
        seconds = self.figures.time("whole_run firm")
        return [Verdict("4,000 doors to pages", seconds, promises.MOST_FIRM_SECONDS, "s")]

    def help(self) -> list[Verdict]:
        """How soon the command answers."""
        from tests.benchmarks.imports import help_and_import

        for number in range(self.rounds):
            answers, imports = help_and_import()
            self.figures.add("help", {"seconds": answers, "peak_mib": 0.0})
            self.figures.add("typer", {"seconds": imports, "peak_mib": 0.0})
            print(f"round {number + 1}  fitback --help {answers:.3f} s, import of typer {imports:.3f} s", flush=True)
        return [
            Verdict(
                "fitback --help against the import of typer",
                self.figures.ratio("help", "typer"),
                promises.MOST_HELP,
                "x",
            )
        ]

    def _make(self, size: str) -> None:
        from tests.benchmarks.made_firm import READINGS_A_DOOR, write_firm

        if not (self.folder / size).exists():
            write_firm(self.folder / size, self.sizes[size] // READINGS_A_DOOR)

    def _out(self, job: str) -> Path:
        return self.folder / f"out-{job}"

    def _measure(self, job: str, size: str, when: str, keep: bool = False) -> dict[str, Any]:
        line = run_job(job, self.folder / size, self._out(job))
        if not keep:
            shutil.rmtree(self._out(job), ignore_errors=True)
        self.figures.add(f"{job} {size}", line)
        print(f"{when}  {job} {size}: {line['seconds']:.2f} s, {line['peak_mib']:.0f} MiB", flush=True)
        return line

    def _against_floor(self, job: str) -> Verdict:
        ratio = self.figures.ratio(f"{job} {LARGE}", f"floor {LARGE}")
        return Verdict(f"{job}: against the read of the CSV", ratio, promises.MOST[job], "x")

    def _growth(self, job: str) -> Verdict:
        small, large = ((self.sizes[size], self.figures.time(f"{job} {size}")) for size in self.sizes)
        return Verdict(f"{job}: exponent of growth", promises.growth(small, large), promises.MOST_GROWTH, "")


if __name__ == "__main__":
    sys.exit(main())

"""Runs jobs in processes of their own, one at a time, and gathers what they report."""

import json
import os
import shutil
import statistics
import subprocess
import sys
from collections import defaultdict
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

# Set together, as on some machines, these make matrix products slower than OpenBLAS alone would.
MISLEADING = ("OPENBLAS_CORETYPE", "OPENBLAS_L2_SIZE")
ROOT = Path(__file__).resolve().parents[2]


@dataclass
class Figures:
    """Seconds and peak memory of each job and folder, one value a round."""

    seconds: dict[str, list[float]] = field(default_factory=lambda: defaultdict(list))
    peaks: dict[str, list[float]] = field(default_factory=lambda: defaultdict(list))

    def add(self, name: str, line: dict[str, Any]) -> None:
        """Keeps what one run of a job reported."""
        self.seconds[name].append(line["seconds"])
        self.peaks[name].append(line["peak_mib"])

    def ratio(self, name: str, to: str) -> float:
        """Median over rounds of seconds of one over seconds of the other in the same round."""
        pairs = zip(self.seconds[name], self.seconds[to], strict=True)
        return statistics.median(one / other for one, other in pairs)

    def time(self, name: str) -> float:
        """Median seconds."""
        return statistics.median(self.seconds[name])

    def peak(self, name: str) -> float:
        """Largest peak, MiB."""
        return max(self.peaks[name])


def run_job(name: str, folder: Path, out: Path) -> dict[str, Any]:
    """One run of a job in a new process, into an output folder that is removed before."""
    shutil.rmtree(out, ignore_errors=True)
    command = [sys.executable, "-m", "tests.benchmarks.jobs", name, str(folder), str(out)]
    done = subprocess.run(command, capture_output=True, text=True, cwd=ROOT, env=environment(), check=False)
    if done.returncode:
        raise RuntimeError(f"{name} failed:\n{done.stderr[-4000:]}")
    return dict(json.loads(done.stdout.splitlines()[-1]))


def environment() -> dict[str, str]:
    """This process's environment without what would mislead a measurement."""
    return {name: value for name, value in os.environ.items() if name not in MISLEADING}

"""How long `fitback --help` takes, against the import of the library that draws its help."""

import subprocess
import sys
import time
from pathlib import Path

from tests.benchmarks.measure import ROOT, environment


def seconds_of(command: list[str]) -> float:
    """Wall time of a command."""
    started = time.perf_counter()
    subprocess.run(command, capture_output=True, cwd=ROOT, env=environment(), check=True)
    return time.perf_counter() - started


def help_and_import(repeats: int = 3) -> tuple[float, float]:
    """Seconds of `fitback --help` and of importing typer in a new Python: the least of a few, taken in turn."""
    fitback = str(Path(sys.executable).with_name("fitback"))
    pairs = [
        (seconds_of([fitback, "--help"]), seconds_of([sys.executable, "-c", "import typer"])) for _ in range(repeats)
    ]
    return min(pair[0] for pair in pairs), min(pair[1] for pair in pairs)

"""Two runs on one folder at once: the second waits or says why not, and what is left is what one run leaves.

`python -m tests.hardness.two_runs --pairs 4` prints one line of JSON.
"""

import argparse
import json
import shutil
import tempfile
import time
from pathlib import Path
from typing import Any

from tests.hardness.children import begun, ended, in_child, load_everything
from tests.hardness.kills import MOST_SECONDS, compared, done, run_without_pages, stand_of, write_records

IN_THE_WAY = "Another fitback run is writing into"


def pair(firm: Path, expected: Any, head_start: float) -> tuple[int, list[str]]:
    """(how many of two runs gave way, what went wrong)."""
    runs = [begun(lambda wait=wait: _run(firm, wait)) for wait in (0.0, head_start)]
    ends = [ended(run, MOST_SECONDS) for run in runs]
    faults = [f"a run ended with {end.status}: {end.trace[-300:]}" for end in ends if end.status != 0]
    refusals = [end.value for end in ends if end.value]
    faults += [f"a run was refused otherwise: {text}" for text in refusals if not text.startswith(IN_THE_WAY)]
    if len(refusals) > 1:
        faults.append("both runs gave way")
    return len(refusals), faults + done(in_child(lambda: compared(firm, expected), MOST_SECONDS))


def _run(firm: Path, head_start: float) -> str:
    """The sentence that refuses the run, or nothing."""
    from pipeline.errors import UserError

    time.sleep(head_start)
    try:
        run_without_pages(firm)
    except UserError as error:
        return str(error)
    return ""


def figures(n_pairs: int, place: Path) -> dict[str, Any]:
    """So many pairs of runs, begun together or shortly after one another; how many gave way, what went wrong."""
    load_everything()
    done(in_child(lambda: write_records(place / "first", place / "changed"), MOST_SECONDS))
    shutil.copytree(place / "changed", place / "expected" / "doors")
    done(in_child(lambda: run_without_pages(place / "expected" / "doors"), MOST_SECONDS))
    expected = done(in_child(lambda: stand_of(place / "expected" / "doors"), MOST_SECONDS))
    total: dict[str, Any] = {"pairs": n_pairs, "gave_way": 0, "faults": []}
    for number in range(n_pairs):
        firm = place / f"pair-{number}" / "doors"
        shutil.copytree(place / "changed", firm)
        gave_way, faults = pair(firm, expected, 0.05 * (number % 4))
        total["gave_way"] += gave_way
        total["faults"] += faults
        shutil.rmtree(firm.parent)
    return total


def main() -> None:
    """Prints the figures as one line of JSON."""
    parser = argparse.ArgumentParser(prog="python -m tests.hardness.two_runs", description=__doc__.splitlines()[0])
    parser.add_argument("--pairs", type=int, default=4)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="fitback-pairs-") as place:
        print(json.dumps(figures(options.pairs, Path(place))))


if __name__ == "__main__":
    main()

"""Two runs on one folder at once: the second waits or says why not, and what is left is what one run leaves."""

import shutil
import time
from pathlib import Path
from typing import Any

from tests.hardness.children import begun, ended
from tests.hardness.small_firm import FRESH, MOST_SECONDS, SmallFirm, run_without_pages

IN_THE_WAY = "Another fitback run is writing into"


def pair(small: SmallFirm, firm: Path, head_start: float) -> tuple[int, list[str]]:
    """(how many of two runs gave way, what went wrong)."""
    runs = [begun(lambda wait=wait: _run(firm, wait)) for wait in (0.0, head_start)]
    ends = [ended(run, MOST_SECONDS) for run in runs]
    faults = [f"a run ended with {end.status}: {end.trace[-300:]}" for end in ends if end.status != 0]
    refusals = [end.value for end in ends if end.value]
    faults += [f"a run was refused otherwise: {text}" for text in refusals if not text.startswith(IN_THE_WAY)]
    if len(refusals) > 1:
        faults.append("both runs gave way")
    return len(refusals), faults + small.faults(firm, FRESH)


def _run(firm: Path, head_start: float) -> str:
    """The sentence that refuses the run, or nothing."""
    from pipeline.errors import UserError

    time.sleep(head_start)
    try:
        run_without_pages(firm)
    except UserError as error:
        return str(error)
    return ""


def figures(small: SmallFirm, n_pairs: int) -> dict[str, Any]:
    """So many pairs of runs, begun together or shortly after one another; how many gave way, what went wrong."""
    total: dict[str, Any] = {"pairs": n_pairs, "gave_way": 0, "faults": []}
    for number in range(n_pairs):
        firm = small.placed(small.folder / f"pair-{number}", FRESH)
        gave_way, faults = pair(small, firm, 0.05 * (number % 4))
        total["gave_way"] += gave_way
        total["faults"] += faults
        shutil.rmtree(firm.parent)
    return total

"""Kills runs at random moments; after each, the next run must leave what an undisturbed one does."""

import random
import shutil
from collections.abc import Callable
from typing import Any

from tests.hardness.children import in_child
from tests.hardness.small_firm import FRESH, LATER, MOST_SECONDS, SmallFirm

TAKING_IN = 0.3  # share of a run's time in which records are taken in


def kill(small: SmallFirm, number: int, chance: random.Random) -> dict[str, Any]:
    """One run killed, some twice; then one that must complete.

    Half the kills hit a first run, half a run on changed records; half come while records are taken in, half at any
    moment.
    """
    name = chance.choice((FRESH, LATER))
    firm = small.placed(small.folder / f"kill-{number}", name)
    whole = small.usual[name]
    latest = [chance.choice((TAKING_IN * whole, whole)) for _ in range(1 + (chance.random() < 0.25))]
    moments = [chance.uniform(0.0, moment) for moment in latest]
    stopped = [in_child(lambda: small.run(firm), MOST_SECONDS, kill_after=moment) for moment in moments]
    last = in_child(lambda: small.run(firm), MOST_SECONDS)
    faults = [f"run {number}: raised {each.trace[-400:]}" for each in (*stopped, last) if each.status == 1]
    if last.status == 0:
        faults += [f"run {number} ({name}, killed at {moments}): {fault}" for fault in small.faults(firm, name)]
    elif last.status != 1:
        faults.append(f"run {number}: the next run ended with {last.status}, late: {last.is_late}")
    shutil.rmtree(firm.parent)
    return {"kills": sum(each.status == -9 for each in stopped), "runs": len(stopped), "faults": faults}


def figures(small: SmallFirm, n_kills: int, seed: int, say: Callable[[str], None]) -> dict[str, Any]:
    """Kills until so many runs were killed while they worked; what came of it."""
    chance = random.Random(seed)
    total = {"seed": seed, "kills": 0, "runs": 0, "faults": list[str]()}
    number = 0
    while total["kills"] < n_kills:
        one = kill(small, number, chance)
        number += 1
        total = {**total, **{key: total[key] + one[key] for key in ("kills", "runs", "faults")}}
        say(f"{total['kills']} of {n_kills} killed, {len(total['faults'])} faults")
    return total

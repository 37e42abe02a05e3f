"""What to watch on a door: the first thing that a fitter with its sheet in hand is told."""

from pipeline.door.trail import DoorTrail
from pipeline.door.words import Standing, held
from pipeline.report.numbers import as_name, capital, listed

MOST = 3


def watch(trail: DoorTrail, standing: Standing) -> str:
    """What is out or failed with what keeps it within; else what to read again; empty for neither."""
    acts = {row["deviation"]: as_name(row["do"]) for row in trail.deviations}
    found = [(row, held(row)) for row in standing.out]
    found += [(row, f"{as_name(row['words'])}, failed") for row in standing.failed]
    if found:
        told = [_told(said, acts.get(row["deviation"], "")) for row, said in found[:MOST]]
        also = [f"also {listed([said for _, said in found[MOST:]])}."] if found[MOST:] else []
        first, *others = told + also
        return " ".join([f"Watch: {first}", *map(capital, others)])
    if standing.undecided:
        return f"Read again, the instrument could not tell: {listed(list(map(held, standing.undecided)), MOST)}."
    return ""


def _told(said: str, act: str) -> str:
    return f"{said}: {act}." if act else f"{said}."

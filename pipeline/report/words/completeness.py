"""How completely the steps are recorded, crew by crew: in sentences."""

from collections.abc import Sequence

from pipeline.report.numbers import count, counted, percent
from pipeline.report.rows.completeness_rows import FIRM, RecordedStep
from pipeline.report.rows.table_rows import LEAST_DOORS
from pipeline.report.words.common import crew_name

A_FIFTH = 0.2  # less is no reason to speak to a crew: a judgement, no source


def of_firm(steps: Sequence[RecordedStep]) -> list[RecordedStep]:
    """The rows of all crews together, in the order of the work."""
    return [step for step in steps if step.crew == FIRM]


def by_crew(steps: Sequence[RecordedStep]) -> dict[str, list[RecordedStep]]:
    """The rows of each crew, the crew with most doors first."""
    crews: dict[str, list[RecordedStep]] = {}
    for step in steps:
        if step.crew != FIRM:
            crews.setdefault(step.crew, []).append(step)
    return dict(sorted(crews.items(), key=lambda item: -item[1][0].doors))


def says(steps: Sequence[RecordedStep]) -> str:
    """Over the whole firm which step is recorded least, and the widest gap between a crew and the firm."""
    firm = of_firm(steps)
    least = min(firm, key=lambda step: step.recorded_share)
    most = max(firm, key=lambda step: step.recorded_share)
    if not most.doors_recorded:
        return f"No step is recorded on any of {counted(least.doors, 'door')}"
    told = f"{least.step.capitalize()} is recorded least, on {_of(least)}; {most.step} most, on {_of(most)}"
    gap = widest_gap(steps)
    return told if gap is None else f"{told}. {gap_says(gap)}"


def widest_gap(steps: Sequence[RecordedStep]) -> RecordedStep | None:
    """The crew and step that stays farthest behind the firm's share; None where no crew stays a fifth behind."""
    firm = {step.step: step.recorded_share for step in of_firm(steps)}
    behind = [step for step in steps if step.crew != FIRM and step.doors >= LEAST_DOORS]
    found = max(behind, key=lambda step: firm[step.step] - step.recorded_share, default=None)
    return found if found is not None and firm[found.step] - found.recorded_share >= A_FIFTH else None


def gap_says(gap: RecordedStep) -> str:
    """The crew that stays farthest behind."""
    return f"Farthest behind the firm: {crew_name(gap.crew)} with {gap.step} on {_of(gap)}"


def _of(step: RecordedStep) -> str:
    return f"{count(step.doors_recorded)} of {counted(step.doors, 'door')} ({percent(step.recorded_share)})"

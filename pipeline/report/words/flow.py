"""The flow from step to fault: what is traced to where, and what is not."""

from pipeline.report.numbers import as_name, capital, listed
from pipeline.report.rows.table_rows import Effect
from pipeline.report.words.common import few_in_words

HOW = (
    "The steps in the order of the work, the faults as they come back. A line for every cause that is claimed: full "
    "ink for strong evidence, broken blue for a hint. A step in grey has none, which says that nothing is shown, not "
    "that nothing is there. Every line's size and interval stand in the second figure and in the table at the foot."
)


def says(claimed: list[Effect], seen: set[str]) -> str:
    """`Five faults are traced to four steps of the work; a hint only for one; no cause is shown for 12 more`.

    seen  the faults on record
    """
    strong = [effect for effect in claimed if effect.evidence == "strong"]
    faults, steps = {effect.fault for effect in strong}, {effect.step for effect in strong}
    hints, left = len({effect.fault for effect in claimed} - faults), len(seen - {effect.fault for effect in claimed})
    if not strong:
        return f"No fault is traced to a step of the work yet; there are hints for {few_in_words(hints)}"
    verb, noun = "fault is" if len(faults) == 1 else "faults are", "step" if len(steps) == 1 else "steps"
    parts = (
        f"{capital(few_in_words(len(faults)))} {verb} traced to {few_in_words(len(steps))} {noun} of the work",
        f"a hint only for {few_in_words(hints)} more" if hints else "",
        f"no cause is shown for {few_in_words(left)} more" if left else "",
    )
    return "; ".join(filter(None, parts))


def do(claimed: list[Effect]) -> str:
    """The step that most faults are traced to; nothing where none has two."""
    by_step: dict[str, set[str]] = {}
    for effect in claimed:
        if effect.evidence == "strong":
            by_step.setdefault(effect.step, set()).add(as_name(effect.fault_words))
    step, faults = max(by_step.items(), key=lambda item: len(item[1]), default=("", set[str]()))
    if len(faults) < 2:
        return ""
    many = few_in_words(len(faults))
    return f"If these are causes, a {step} step done better helps against {many} faults: {listed(sorted(faults))}."

"""What of a crew's ratio goes with how its doors were fitted, and what is left: sentences, none beyond its interval."""

from pipeline.report.numbers import as_name, capital, count
from pipeline.report.rows.crew_step_rows import CrewStep
from pipeline.report.rows.table_rows import CrewRate
from pipeline.report.words.common import crew_name

LEAST_STEP = 1.05  # times, or less than one over it: below, a step is no reason
MOST_STEPS = 2
HOW = (
    "How many callbacks each crew's doors could be expected to bring, given how they were fitted: what is measured in "
    "each step and what that leads to, against the firm's doors, in the order of the work. What is left has the door, "
    "the measured steps and chance taken out as far as they can be. It is drawn towards 1 as the whole is, so that the "
    "two need not multiply to it."
)
NOT_MEASURED = "What is not measured, or only roughly, counts as left: record more before you look for it in a person."

Steps = dict[str, list[CrewStep]]


def by_crew(steps: list[CrewStep]) -> Steps:
    """The steps of each crew, in the order of the work."""
    found: Steps = {}
    for step in steps:
        found.setdefault(step.crew, []).append(step)
    return found


def told(rates: list[CrewRate]) -> list[CrewRate]:
    """The crews that may be apart from the firm, and of which the parts are known; farthest above first."""
    apart = [rate for rate in rates if rate.fair and rate.through and rate.left and (rate.side or rate.hint)]
    return sorted(apart, key=lambda rate: (-(rate.fair_ratio or 0.0), rate.crew))


def headline(rates: list[CrewRate], steps: Steps) -> str:
    """What tells the crew farthest from the firm apart, in one sentence; empty where no crew is apart."""
    crews = told(rates)
    if not crews:
        return ""
    # a crew that is clearly apart goes before one that is so perhaps
    rate = next((rate for rate in crews if rate.side), crews[0])
    who, whole = crew_name(rate.crew), rate.fair.words(unit=" times") if rate.fair else ""
    if rate.left and rate.left.side == _way(rate):
        return f"{capital(who)}'s {whole} are not all in what is measured"
    if not rate.through or rate.through.side != _way(rate):
        return f"What makes {who}'s {whole} is not clear from what is measured"
    reasons = _reasons(rate, steps)
    by = f", above all the {reasons[0].step}: {as_name(reasons[0].words)}" if reasons else ""
    return f"{capital(who)}'s {whole} go with how its doors were fitted{by}"


def crew_says(rate: CrewRate, steps: Steps) -> str:
    """`1.5 times (1.1 to 1.9) as often as the firm ... How its doors were fitted comes to ... What is left ...`."""
    if not (rate.fair and rate.through and rate.left):
        return ""
    came = f"{count(rate.callbacks)} came"
    whole = f"{rate.fair.words(unit=' times')} as often as the firm on the same doors ({came})."
    return f"{whole} {_through_says(rate, steps)} {_left_says(rate)}"


def _through_says(rate: CrewRate, steps: Steps) -> str:
    assert rate.through is not None
    times = rate.through.words(unit=" times")
    if not rate.through.side:
        return f"How its doors were fitted, as far as it is measured, does not tell it apart: {times}."
    reasons = [reason(step) for step in _reasons(rate, steps)]
    by = f": {'; '.join(reasons)}" if reasons else ", over several steps"
    return f"How its doors were fitted, as far as it is measured, comes to {times}{by}."


def _left_says(rate: CrewRate) -> str:
    assert rate.left is not None
    times = rate.left.words(unit=" times")
    if not rate.left.side:
        return f"What is left, {times}, could be chance."
    return f"What is left, {times}, is beyond chance: something that is not measured."


def _way(rate: CrewRate) -> int:
    return 1 if (rate.fair_ratio or 1.0) > 1 else -1


def _reasons(rate: CrewRate, steps: Steps) -> list[CrewStep]:
    """The steps that clearly go the way of all steps together, the largest first."""
    side = rate.through.side if rate.through else 0
    found = [step for step in steps.get(rate.crew, []) if side and is_reason(step, side)]
    found.sort(key=lambda step: step.ratio, reverse=side > 0)
    return found[:MOST_STEPS]


def is_reason(step: CrewStep, side: int) -> bool:
    """The step's whole interval lies on that side of 1, and the step matters."""
    matters = max(step.ratio, 1 / step.ratio) >= LEAST_STEP
    return step.times is not None and step.times.side == side and matters


def reason(step: CrewStep) -> str:
    """`frame 1.3 times (1.2 to 1.6), above all head not parallel to the sill`."""
    times = step.times.words(unit=" times") if step.times else ""
    return f"{step.step} {times}, above all {as_name(step.words)}"


def worse_steps(steps: Steps) -> list[tuple[str, list[CrewStep]]]:
    """The crews with steps that clearly bring more callbacks than the firm's, with these; the most first."""
    found = [(crew, [step for step in own if is_reason(step, 1)]) for crew, own in steps.items()]
    ordered = [(crew, sorted(own, key=lambda step: -step.ratio)) for crew, own in found if own]
    return sorted(ordered, key=lambda pair: (-pair[1][0].ratio, pair[0]))


def worse_says(worse: list[tuple[str, list[CrewStep]]]) -> str:
    """The crew and step that bring most more."""
    crew, steps = worse[0]
    times = steps[0].times.words(unit=" times") if steps[0].times else ""
    return f"{capital(crew_name(crew))}'s {steps[0].step} brings {times} the callbacks of the firm's"

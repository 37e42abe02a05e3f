"""What to practise: sentences about crews and steps. They say where practice is to begin, and blame nobody."""

from dataclasses import replace
from itertools import groupby

from pipeline.report.numbers import NOT_KNOWN, PER_CENT, as_name, capital, count, counted, listed, listed_of, may_reach
from pipeline.report.rows.table_rows import LEAST_DOORS, CrewOut, WeakStep
from pipeline.report.words.common import FEW_DOORS, act_of, crew_name, few_in_words
from pipeline.report.words.practice import by_gain, spared

Steps = dict[str, list[WeakStep]]
MOST_NAMED = 4
ALONE = "With one crew on record no crews can be compared."
BEHIND = "none of its doors is beyond a limit here, yet its readings lie behind those of the firm's better half."


def by_step(weak_steps: list[WeakStep]) -> Steps:
    """The crews of each step with anything recorded, in step order."""
    recorded = [weak for weak in weak_steps if weak.doors and weak.out_share is not None]
    return {step: list(crews) for step, crews in groupby(recorded, key=lambda weak: weak.step)}


def apart(crews: list[WeakStep], side: int = 1) -> list[WeakStep]:
    """The crews that are more often (1) or less often (-1) out than the firm, beyond chance; the farthest first."""
    found = [weak for weak in crews if weak.side == side]
    return sorted(found, key=lambda weak: -abs(gap(weak)))


def gap(weak: WeakStep) -> float:
    """How far what is expected of the crew's next doors lies above the firm's share."""
    return (weak.shrunk_share or 0.0) - (weak.firm_out_share or 0.0)


def weakest(steps: Steps) -> list[WeakStep]:
    """The crew farthest over the firm in each step where one stands apart, the farthest first."""
    found = [apart(crews)[0] for crews in steps.values() if apart(crews)]
    return sorted(found, key=lambda weak: -gap(weak))


def begin_with(crews: list[WeakStep]) -> WeakStep | None:
    """Whom to begin with: where practice is shown to spare most, else where a crew is out farthest over the firm."""
    told = by_gain(crews) or weakest(by_step(crews))
    return told[0] if told else None


def overview_says(steps: Steps) -> str:
    """The crew farthest from the firm in each step by name; of all that are apart the others are counted."""
    found = [f"{crew(weak)} in {weak.step}" for weak in weakest(steps)][:MOST_NAMED]
    if not found:
        return "No crew is more often out than the firm"
    left = sum(len(apart(crews)) for crews in steps.values()) - len(found)
    return f"More often out than the firm: {listed_of(found, left)}"


def headline(weak_steps: list[WeakStep]) -> str:
    """The answer of the sheet in one sentence."""
    steps = by_step(weak_steps)
    if not steps:
        return "Nothing is recorded in any step of the work, so no step can be called weak or strong."
    weak = begin_with(weak_steps)
    if weak:
        why = f"practice there could spare {spared(weak)} a year" if weak.is_worth_it else against_firm(weak)
        return f"Begin with {crew(weak)} in the {weak.step} step: {why}."
    step, share = most_often_out(steps)
    if not step:
        return f"{capital(FEW_DOORS)}: no step of the work is recorded on {LEAST_DOORS} doors yet."
    if n_crews(steps) == 1:
        return f"Most often out is the {step} step, {share}."
    return f"No crew is out more often than the firm in any step; the step most often out is {step}, {share}."


def n_crews(steps: Steps) -> int:
    """Crews with anything recorded."""
    return len({weak.crew for crews in steps.values() for weak in crews})


def most_often_out(steps: Steps) -> tuple[str, str]:
    """The step that the firm leaves out most often, with share, doors and the steps that it may leave out as often.

    Empty where no step is recorded on enough doors.
    """
    enough = [step for step, crews in steps.items() if doors_of(crews) >= LEAST_DOORS]
    if not enough:
        return "", ""
    step, *others = sorted(enough, key=lambda name: -(steps[name][0].firm_out_share or 0.0))
    level = [other for other in others if may_reach(steps[other][0].firm, steps[step][0].firm)]
    also = f"; {listed(level)} may be out as often" if level else ""
    return step, f"{firms_share(steps[step][0])} of {counted(doors_of(steps[step]), 'door')}{also}"


def firms_share(weak: WeakStep) -> str:
    """`46 % (43 to 49)`: how often the firm as a whole has something out in the step."""
    return weak.firm.words(100, PER_CENT) if weak.firm else NOT_KNOWN


def doors_of(crews: list[WeakStep]) -> int:
    """Doors with anything recorded in one step, over its crews."""
    return sum(weak.doors for weak in crews)


def crew(weak: WeakStep) -> str:
    """The crew as the records name it."""
    return crew_name(weak.crew)


def share_of(weak: WeakStep) -> str:
    """`31 % (23 to 40) of its 120 doors`."""
    share = weak.share.words(100, " %") if weak.share else "none"
    return f"{share} of its {counted(weak.doors, 'door')}"


def against_firm(weak: WeakStep) -> str:
    """`31 % (23 to 40) of its 120 doors have something out, against 14 % (10 to 18) in the firm`."""
    return f"{share_of(weak)} have something out, against {firms_share(weak)} in the firm"


def summary(weak_steps: list[WeakStep]) -> str:
    """What is out where to begin, unless the headline says so; how many crews and steps stand apart, of how many."""
    steps, first = by_step(weak_steps), begin_with(weak_steps)
    looked_at = sum(len(crews) for crews in steps.values())
    if n_crews(steps) < 2:
        return ALONE if looked_at else ""
    above = sum(len(apart(crews)) for crews in steps.values())
    verb = "is" if above == 1 else "are"
    number = few_in_words(above) if above else "none"
    pairs = f"{counted(looked_at, 'pair')} of a crew and a step"
    there = f"There {against_firm(first)}. " if first and first.is_worth_it else ""
    return f"{there}Of {pairs}, {number} {verb} out more often than the firm beyond chance."


def can_be_out(step: str, outs: list[CrewOut]) -> bool:
    """Something of the step was held against a limit in use, or checked."""
    return any(out.is_step_judged for out in outs if out.step == step)


def step_says(step: str, crews: list[WeakStep], outs: list[CrewOut]) -> str:
    """Caption of one step: the crews that are out more often than the firm, or that none can be told apart."""
    found = apart(crews)
    firm = firms_share(crews[0])
    if found:
        also = f", and {listed([crew(weak) for weak in found[1:]])}" if len(found) > 1 else ""
        return f"{capital(step)}: more often out than the firm, {firm}: {crew(found[0])}, {share_of(found[0])}{also}"
    doors = counted(doors_of(crews), "door")
    if doors_of(crews) < LEAST_DOORS:
        return f"{capital(step)}: something is recorded on {doors}, {FEW_DOORS}"
    if not can_be_out(step, outs):
        return f"{capital(step)}: read on {doors}, and no limit says yet when it is out"
    who = "no crew is more often out than the firm" if len(crews) > 1 else "one crew on record, nothing to compare"
    return f"{capital(step)}: {firm} of {doors} have something out; {who}"


def better(crews: list[WeakStep]) -> str:
    """Whom to learn from, where a crew is less often out beyond chance."""
    found = apart(crews, -1)
    if not found:
        return ""
    verb = "is" if len(found) == 1 else "are"
    return (
        f"{capital(listed([crew(weak) for weak in found]))} {verb} less often out: ask what is done differently there."
    )


def expected(weak: WeakStep) -> str:
    """What to expect of the crew's next doors, drawn towards the firm's share where its own doors are few."""
    return weak.shrunk.words(100, " %") if weak.shrunk else ""


def what_is_out(outs: list[CrewOut], step: str, of_crew: str | None) -> list[CrewOut]:
    """What is out in a step, for one crew or (None) for all, on how many of how many doors; the most doors first."""
    wanted = [out for out in outs if out.step == step and of_crew in (None, out.crew)]
    totals: dict[str, CrewOut] = {}
    for out in wanted:
        before = totals.get(out.deviation)
        doors, doors_out = (before.doors, before.doors_out) if before else (0, 0)
        merged = replace(out, crew="", doors=doors + out.doors, doors_out=doors_out + out.doors_out)
        totals[out.deviation] = merged
    return sorted((out for out in totals.values() if out.doors_out), key=lambda out: -out.doors_out)


def practise(step: str, crews: list[WeakStep], outs: list[CrewOut]) -> str:
    """What to practise: the acts that put right what is most often out, for the crew to begin with or all."""
    first = begin_with(crews)
    is_out = what_is_out(outs, step, first.crew if first else None)
    most = [out for out in is_out if out.doors >= LEAST_DOORS][:2]
    if doors_of(crews) < LEAST_DOORS or (is_out and not most):
        return f"What to practise: {FEW_DOORS}."
    if not can_be_out(step, outs):
        return "No limit is in use here: to have these readings judged, give one in fitback.toml."
    if not most and first:
        return f"Practise with {crew(first)}: {BEHIND}"
    if not most:
        return "Nothing in this step is out; keep it so."
    whom = f"Practise with {crew(first)}" if first else "Practise with everyone"
    acts = "; ".join(f"{act_of(out)} ({out_share(out)})" for out in most)
    return f"{whom}: {acts}."


def foremost(weak: WeakStep, outs: list[CrewOut]) -> str:
    """The act for what is most often out with a crew in a step; empty where nothing is, or too few doors tell."""
    is_out = [out for out in what_is_out(outs, weak.step, weak.crew) if out.doors >= LEAST_DOORS]
    return f"First: {act_of(is_out[0])} ({out_share(is_out[0])})." if is_out else ""


def out_share(out: CrewOut) -> str:
    """`sill out of level on 31 of 120 doors`."""
    return f"{as_name(out.words)} on {count(out.doors_out)} of {counted(out.doors, 'door')}"

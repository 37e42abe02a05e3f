"""Words about what trainings did: told against crews not yet trained, with what chance alone gives back beside it."""

from pipeline.report.numbers import as_name, capital, count, counted, day, listed, number, plain
from pipeline.report.rows.training_rows import TrainingEffect
from pipeline.report.words.common import crew_name

OUTCOMES = {"out_share": "doors with something out", "callbacks": "callbacks of the faults that the step can bring"}
TIMES_OF = {"out_share": "times as often out as before", "callbacks": "times as many callbacks as before"}
HOW = (
    "Doors fitted since the training against those before, less what changed meanwhile in crews not yet trained in the "
    "step. The 90 days before a training are left out: a crew is sent because its last doors looked bad, and what of "
    "that was chance mends itself. Plainly: the crew's doors since against all before, which takes that for "
    "success. Ink: the line clears no change."
)
DO = "Where a line is short and still holds no change, train in another way; where it is long, wait for more doors."
NONE = "No training is on record, so whether one helped cannot be told"
ADD = "Add a row for each session to the file training: crew, step and trained_on."


def name(effect: TrainingEffect) -> str:
    """`crew K7, sill`, or `all trainings, sill`."""
    return f"{crew_name(effect.crew) if effect.is_of_crew else 'all trainings'}, {effect.step}"


def says(effects: list[TrainingEffect], outcome: str) -> str:
    """Caption of one outcome: who is clearly better or worse, or that none can be told."""
    crews = [effect for effect in effects if effect.is_of_crew]
    told = [effect for effect in crews if effect.change]
    better, worse = ([effect for effect in told if effect.change and effect.change.side == side] for side in (-1, 1))
    what = capital(OUTCOMES[outcome])
    if not told:
        return f"{what}: too few doors before or after any of {counted(len(crews), 'training')} to tell"
    parts = [
        *([f"fewer since the training of {listed([name(effect) for effect in better], 3)}"] if better else []),
        *([f"more since that of {listed([name(effect) for effect in worse], 3)}"] if worse else []),
    ]
    told_of = f"{count(len(told))} of {counted(len(crews), 'training')} can be judged"
    return f"{what}: {'; '.join(parts) if parts else 'no training is told apart from no change'}; {told_of}"


def worth_a_line(effects: list[TrainingEffect]) -> list[TrainingEffect]:
    """Those that can be judged; all trainings of a step together only where they are several."""
    told = [effect for effect in effects if effect.change]
    several = {effect.step for effect in told if sum(one.is_of_crew and one.step == effect.step for one in told) > 1}
    return [effect for effect in told if effect.is_of_crew or effect.step in several]


def beside(effect: TrainingEffect) -> str:
    """`plainly 0.48`."""
    return "" if effect.naive_ratio is None else f"plainly {number(effect.naive_ratio, 2)}"


def doors(effect: TrainingEffect) -> str:
    """`97 doors before, 41 since`."""
    return f"{count(effect.doors_before)} doors before, {count(effect.doors_after)} since"


def cells(effect: TrainingEffect) -> tuple[str, ...]:
    """The row of the table."""
    return (
        as_name(effect.crew) if effect.is_of_crew else "all",
        effect.step,
        day(effect.trained_on),
        count(effect.sessions),
        effect.outcome.replace("_", " "),
        effect.change.words() if effect.change else "too few",
        "" if effect.p_value is None else plain(effect.p_value, 2),
        count(effect.doors_before),
        count(effect.doors_after),
        effect.just_before.words() if effect.just_before else "",
        "" if effect.naive_ratio is None else number(effect.naive_ratio, 2),
        effect.note or "",
    )

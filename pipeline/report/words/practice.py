"""What practice is worth: sentences about callbacks a year that a crew would spare in a step."""

from pipeline.report.numbers import capital, counted
from pipeline.report.rows.table_rows import WeakStep
from pipeline.report.words.common import crew_name

HOW = (
    "Callbacks a year that the crew would spare if it worked in that step as the firm's better half does, with the "
    "95 % interval; from causes that the trade expects or that have strong evidence, in steps where any cause has it. "
    "Lines overlap: they are never added up. It is an estimate under what the causes sheet assumes, not a promise. "
    "Practise in this order, each with what is most often out there."
)
NONE_SHOWN = "No practice is shown to spare callbacks yet"
NOTHING = "No cause with evidence separates a crew from the firm's better half."


def by_gain(weak_steps: list[WeakStep]) -> list[WeakStep]:
    """What is shown to be worth it, the most callbacks first."""
    return sorted((weak for weak in weak_steps if weak.is_worth_it), key=lambda weak: -(weak.priority or 0.0))


def says(weak_steps: list[WeakStep]) -> str:
    """The heading: where practice spares callbacks, first where it spares most, or that none is shown to."""
    worth = by_gain(weak_steps)
    if not worth:
        return NONE_SHOWN
    where = f"{crew_name(worth[0].crew)} in {worth[0].step}"
    return f"Where practice spares callbacks: first {where}, {spared(worth[0])} a year"


def spared(weak: WeakStep) -> str:
    """`19 (11 to 27) callbacks`, or why there is no number, or that nothing is shown."""
    if weak.gain is None:
        return "no cause with evidence"
    if not weak.is_worth_it:
        return f"not shown ({weak.gain.words()})"
    return f"{weak.gain.words()} callbacks"


def line(weak: WeakStep) -> str:
    """One line of the list."""
    return f"{weak.step}, {spared(weak)} a year; {counted(weak.doors, 'door')} with the step recorded."


def lead(weak: WeakStep) -> str:
    """The first words of the line."""
    return f"{capital(crew_name(weak.crew))}:"

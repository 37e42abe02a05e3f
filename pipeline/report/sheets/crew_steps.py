"""Why crews differ: what goes with the steps measured and what is left; for the owner and the trainer."""

from pipeline.report.crew_step_rows import CrewStep
from pipeline.report.numbers import as_name, capital, count, listed
from pipeline.report.rows import CrewRate
from pipeline.report.sheet import Block, Item, Listing
from pipeline.report.words import crew_steps as words
from pipeline.report.words.common import crew_name

MOST_CREWS = 10


def parts_of_crews(rates: list[CrewRate], steps: list[CrewStep]) -> list[Block]:
    """The owner's list: every crew that may be apart, with its parts; nothing where none is."""
    found, crews = words.by_crew(steps), words.told(rates)
    if not crews:
        return []
    items = tuple(
        Item(words.crew_says(rate, found), f"{capital(crew_name(rate.crew))}:") for rate in crews[:MOST_CREWS]
    )
    return [Listing("parts", words.headline(rates, found), items, f"{words.HOW} {words.NOT_MEASURED}{_more(crews)}")]


def steps_of_crews(steps: list[CrewStep]) -> list[Block]:
    """The trainer's list: every crew with a step that clearly brings more callbacks; nothing where there is none."""
    worse = words.worse_steps(words.by_crew(steps))
    if not worse:
        return []
    items = tuple(
        Item(f"{capital(listed([words.reason(step) for step in own], 3))}.", f"{as_name(capital(crew_name(crew)))}:")
        for crew, own in worse[:MOST_CREWS]
    )
    how = (
        "What the crew's doors were to bring for how the step was done, and what that leads to later, against the "
        "firm's doors; the door and the steps before are allowed for. This counts callbacks, where the shares below "
        "count doors beyond a limit: a step can be out often and bring little, or the other way round."
    )
    return [Listing("through", words.worse_says(worse), items, how + _more(worse))]


def _more(crews: list[CrewRate] | list[tuple[str, list[CrewStep]]]) -> str:
    left = len(crews) - MOST_CREWS
    return f" {count(left)} more crews stand in the table." if left > 0 else ""

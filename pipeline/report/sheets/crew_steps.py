"""Why crews differ: what goes with the steps measured and what is left; for the owner and the trainer."""

from pipeline.report.downloads import download
from pipeline.report.numbers import Interval, as_name, capital, count, counted
from pipeline.report.reading import Results
from pipeline.report.rows.crew_step_rows import CrewStep
from pipeline.report.rows.table_rows import CrewRate
from pipeline.report.sheet import Block, Item, Listing, Table
from pipeline.report.words import crew_steps as words
from pipeline.report.words.common import crew_name

MOST_CREWS, MOST_ROWS = 10, 800
PART_COLUMNS = ("crew", "callbacks", "fair ratio (95 %)", "through the steps measured (95 %)", "what is left (95 %)")
COLUMNS = ("crew", "step", "times as many callbacks as the firm (95 %)", "above all")


def parts_of_crews(rates: list[CrewRate], steps: list[CrewStep]) -> list[Block]:
    """The owner's list: every crew that may be apart, with its parts; nothing where none is."""
    found, crews = words.by_crew(steps), words.told(rates)
    if not crews:
        return []
    items = tuple(
        Item(words.crew_says(rate, found), f"{capital(crew_name(rate.crew))}:") for rate in crews[:MOST_CREWS]
    )
    return [Listing("parts", words.headline(rates, found), items, f"{words.HOW} {words.NOT_MEASURED}{_more(crews)}")]


def parts_table(rates: list[CrewRate]) -> list[Block]:
    """Every crew with its parts, from most to least watched; nothing where they are not known."""
    known = [rate for rate in rates if rate.through and rate.left]
    if not known:
        return []
    says = f"The table behind: what of the ratio of {counted(len(known), 'crew')} goes with the steps measured"
    rows = tuple(
        (as_name(rate.crew), count(rate.callbacks), *(part.words() if part else "" for part in _parts(rate)))
        for rate in known[:MOST_ROWS]
    )
    how = "The crews' table above saves the same, and more, as callback_rates."
    return [Table("apart", says, PART_COLUMNS, rows, how, frozenset({1}))]


def _parts(rate: CrewRate) -> tuple[Interval | None, ...]:
    return rate.fair, rate.through, rate.left


def steps_of_crews(steps: list[CrewStep]) -> list[Block]:
    """The trainer's list: every crew with a step that clearly brings more callbacks; nothing where there is none."""
    worse = words.worse_steps(words.by_crew(steps))
    if not worse:
        return []
    items = tuple(
        Item(f"{'; '.join(words.reason(step) for step in own)}.", f"{capital(crew_name(crew))}:")
        for crew, own in worse[:MOST_CREWS]
    )
    how = (
        "How many callbacks the crew's doors could be expected to bring, given how the step was done and what that "
        "leads to later, against the firm's doors; the door and the steps before are allowed for. This counts "
        "callbacks, where the shares below count doors beyond a limit: a step can be out often and bring little, or "
        "the other way round. Listed are steps whose interval lies above 1, from "
        f"{words.LEAST_STEP} times on; by chance alone one in forty of all crews and steps would lie there. Practise "
        "what is named with that crew; the figures below say how."
    )
    return [Listing("through", words.worse_says(worse), items, how + _more(worse))]


def steps_table(steps: list[CrewStep], results: Results) -> list[Block]:
    """Every crew and step; nothing where there is none."""
    if not steps:
        return []
    says = f"The table behind: {counted(len(steps), 'crew in a step', 'crews in steps')}, by callbacks they bring"
    rows = tuple(
        (as_name(step.crew), step.step, step.times.words() if step.times else "", as_name(step.words))
        for step in steps[:MOST_ROWS]
    )
    saved = download("through_steps", results.table("through_steps").sort("crew", "step_order"))
    return [Table("brought", says, COLUMNS, rows, "", frozenset(), saved)]


def _more(crews: list[CrewRate] | list[tuple[str, list[CrewStep]]]) -> str:
    left = len(crews) - MOST_CREWS
    return f" {count(left)} more crews stand in the table." if left > 0 else ""

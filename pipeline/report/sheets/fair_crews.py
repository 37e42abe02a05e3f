"""How far crews can be put in order, and their rates on the firm's mix of doors; for the owner."""

from pipeline.report.numbers import capital, count
from pipeline.report.rows.table_rows import CrewRate
from pipeline.report.sheet import Block, Passage
from pipeline.report.words import fair_crews as words

MOST_REFUSALS = 8


def places_and_mix(rates: list[CrewRate]) -> list[Block]:
    """The passage beside the crews' figures; nothing where there is nothing to compare."""
    says = words.places_say(rates)
    if not says:
        return []
    refused = words.not_on_the_mix(rates)
    more = f" The table names {count(len(refused) - MOST_REFUSALS)} more." if len(refused) > MOST_REFUSALS else ""
    why = [f"Not told: {' '.join(capital(line) for line in refused[:MOST_REFUSALS])}{more}"] if refused else []
    return [Passage("places", capital(says), (words.HOW_PLACES, words.HOW_MIX, *why))]

"""What stands first in the callbacks: sentences that say how much no cause explains, and why orders differ."""

from pipeline.report.numbers import as_name, capital, count, counted, money, percent
from pipeline.report.rows.first_cause_rows import FirstCause
from pipeline.report.rows.table_rows import Effect
from pipeline.report.words.causes import claimed, is_worth_known, one_a_deviation

COMPARED = 3  # first causes that the two orders are compared by
IN_BOTH = 5  # what is among so many stands high
HOW = (
    "Every callback that crews answer for is split among the causes of its fault, against a door as good as the firm's "
    "better ones. A cause stands first where it accounts for more than any other, and for a fifth or more. Expected "
    "only: the trade expects it, these records do not show it; it counts as much as such causes have shown here. Lines "
    "are 95 % intervals; those that overlap stand in no sure order."
)
WHY_ORDERS_DIFFER = (
    "The order is not that of the callbacks spared: that figure counts a year ahead and only what lies beyond the "
    "limits, this one all that came so far, also on doors within the limits but worse than good ones."
)


def says(found: list[FirstCause]) -> str:
    """`First cause most often: frame twisted, in 59 of 660 callbacks; in 300 no cause accounts for a fifth`."""
    causes = [row for row in found if row.is_cause and row.first]
    total = found[0].callbacks
    if not causes:
        return f"In none of {counted(total, 'callback')} does a cause account for a fifth"
    first = causes[0]
    most = f"First cause most often: {marked(first)}, in {count(first.first)} of {counted(total, 'callback')}"
    left = next((row.first for row in found if not row.is_cause), 0)
    return f"{most}; in {count(left)} no cause accounts for a fifth"


def unexplained(found: list[FirstCause]) -> str:
    """How much of all callbacks no cause accounts for; empty where all is explained."""
    rest = next((row for row in found if not row.is_cause), None)
    if rest is None or rest.part is None:
        return ""
    return (
        f"Of all callbacks together {rest.part.words(100, ' %')} go with no cause that has evidence or that the "
        "trade expects: too rare to say, or what happens on good doors too."
    )


def by_cost(found: list[FirstCause], currency: str | None) -> str:
    """The cause that goes with most of the known cost; empty where no cost is known."""
    causes = [row for row in found if row.is_cause and row.cost]
    total = sum(row.cost or 0.0 for row in found)
    if not causes or not total:
        return ""
    dearest = max(causes, key=lambda row: row.cost or 0.0)
    share = percent((dearest.cost or 0.0) / total)
    known = f"of the known cost of {counted(dearest.cost_known, 'callback')}"
    return f"By cost {marked(dearest)} comes first: {money(dearest.cost, currency)}, {share} {known}."


def why_orders_differ(found: list[FirstCause], effects: list[Effect]) -> str:
    """One sentence where the causes named first here and in the figure of callbacks spared are not the same."""
    here, there = _named_here(found), _named_there(effects)
    here, there = here[: len(there)][:COMPARED], there[: len(here)][:COMPARED]
    return WHY_ORDERS_DIFFER if here != there else ""


def do(found: list[FirstCause], effects: list[Effect]) -> str:
    """What is high in both figures goes first; where nothing is, how to choose between them."""
    here, there = _named_here(found), _named_there(effects)
    if not here:
        return "Record more of what may lie behind the faults that come back most."
    acts = {effect.deviation: f"“{as_name(effect.words)}”: {as_name(effect.do)}" for effect in effects}
    if not there:
        return f"Begin with {acts[here[0]]}." if here[0] in acts else ""
    both = [deviation for deviation in there[:IN_BOTH] if deviation in here[:IN_BOTH]]
    if not both:
        return (
            "Begin by the figure of callbacks spared where the limits are right, by this one where they are in doubt."
        )
    return f"Begin with what stands high in this figure and in that of callbacks spared: {acts[both[0]]}."


def _named_here(found: list[FirstCause]) -> list[str]:
    return [row.deviation for row in found if row.is_shown and row.first]


def _named_there(effects: list[Effect]) -> list[str]:
    """As the figure of callbacks spared names them: strong, and clearly worth something."""
    return [
        effect.deviation for effect in one_a_deviation([e for e in claimed(effects, "strong") if is_worth_known(e)])
    ]


def name(row: FirstCause) -> str:
    """The cause in words, or that there is none."""
    return capital(marked(row)) if row.is_cause else "No cause accounts for a fifth"


def marked(row: FirstCause) -> str:
    """A cause in words; where it stands on what the trade expects, that it does."""
    return as_name(row.words) + mark(row)


def mark(row: FirstCause) -> str:
    """What is said behind the name of a cause that stands on what the trade expects; else nothing."""
    return "" if row.is_shown else " (expected only)"

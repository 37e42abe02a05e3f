"""Rates, trend and cost: sentences for the owner."""

from pipeline.report.numbers import capital, count, counted, listed, money, month, number, percent
from pipeline.report.rows.table_rows import CrewRate, Firm, Month, Tally
from pipeline.report.words.common import crew_name, few_in_words, is_watched_enough, whole_firm

ANSWERED = ("installation", "unknown")
NO_LOG = "No callback log came with the records, so no callback rate can be told."
WHAT_TO_ADD = (
    "Add callbacks.csv to the records, one row per callback: callback_id, reported_on, and what names the door "
    "(install_id, else job_no, else customer and address). A file with its heading alone says that nothing came back."
)
NOT_COMPARED = "no callback counts yet, so the crews cannot be compared"


def crews(rates: list[CrewRate]) -> list[CrewRate]:
    """The crews with time at risk, from most to least watched."""
    return [rate for rate in rates if rate.crew != "all" and rate.door_years > 0]


def apart(rates: list[CrewRate], side: int) -> list[CrewRate]:
    """The crews above (1) or below (-1) the firm on doors like theirs, beyond chance."""
    return [rate for rate in crews(rates) if rate.side == side]


def firm_rate(rates: list[CrewRate]) -> str:
    """`10.8 (9.8 to 11.9) callbacks per 100 door-years`; empty without time at risk."""
    whole = whole_firm(rates)
    if whole is None or whole.per_100 is None or not is_watched_enough(rates):
        return ""
    return f"{whole.per_100.words()} callbacks per 100 door-years"


def headline(rates: list[CrewRate]) -> str:
    """The answer of the sheet in one sentence."""
    whole = whole_firm(rates)
    if whole is None or whole.rate is None:
        return "No door has been watched yet, so there is no callback rate."
    came = counted(whole.callbacks, "callback")
    if not is_watched_enough(rates):
        return f"It is too early for a callback rate: {came} in less than one door-year."
    return f"{firm_rate(rates)}, from {came} in {_years(whole)} door-years."


def _years(rate: CrewRate) -> str:
    return number(rate.door_years, 0 if rate.door_years >= 10 else 1)


def crews_apart(rates: list[CrewRate]) -> str:
    """Which crews are apart from the firm, clearly or perhaps; empty without a rate."""
    return f"{capital(_apart(rates))}." if firm_rate(rates) else ""


def _apart(rates: list[CrewRate]) -> str:
    compared = [rate for rate in crews(rates) if rate.fair]
    if not compared and len(crews(rates)) > 1:
        return NOT_COMPARED
    if len(compared) < 2:
        return "there are no crews to compare"
    sure = _placed({1: apart(rates, 1), -1: apart(rates, -1)})
    if sure:
        return f"{sure} the firm on doors like theirs"
    perhaps = _placed({1: hinted(rates, 1), -1: hinted(rates, -1)})
    none = f"none of {few_in_words(len(compared))} crews is clearly apart from the others"
    return f"{none}; perhaps {perhaps} the firm" if perhaps else none


def hinted(rates: list[CrewRate], side: int) -> list[CrewRate]:
    """The crews perhaps above (1) or below (-1) the firm: the interval says so, the funnel does not."""
    return [rate for rate in crews(rates) if rate.hint == side]


def _placed(sides: dict[int, list[CrewRate]]) -> str:
    words = {1: "above", -1: "below"}
    parts = [
        f"{listed([crew_name(rate.crew) for rate in found])} {words[side]}" for side, found in sides.items() if found
    ]
    return " and ".join(parts)


def funnel_says(rates: list[CrewRate]) -> str:
    """Caption of the crews' rates."""
    compared = [rate for rate in crews(rates) if rate.fair]
    if not compared:
        return capital(NOT_COMPARED)
    if len(compared) == 1:
        return "Only one crew can be compared with the firm"
    held = sum(rate.side == 0 for rate in compared)
    number = few_in_words(len(compared))
    everyone = "Both" if len(compared) == 2 else f"All {number}"
    who = everyone if held == len(compared) else f"{capital(few_in_words(held))} of {number}"
    verb = "lies" if held == 1 else "lie"
    return f"{who} crews {verb} within what chance and the usual differences explain"


def fair_says(rates: list[CrewRate]) -> str:
    """Caption of the fair ratios: the crew farthest from the firm, as sure or as a hint."""
    if not any(rate.fair for rate in crews(rates)):
        return capital(NOT_COMPARED)
    for says, of_side in (("On the same doors", apart), ("A hint: on the same doors", hinted)):
        above, below = of_side(rates, 1), of_side(rates, -1)
        if above or below:
            farthest = max(above, key=lambda rate: rate.fair_low or 0.0) if above else min(below, key=_fair_high)
            ratio = farthest.fair.words(unit=" times") if farthest.fair else ""
            return f"{says}, {crew_name(farthest.crew)} is called back {ratio} as often as the firm"
    return "On the same doors no crew is called back clearly more or less often"


def _fair_high(rate: CrewRate) -> float:
    return rate.fair_high or 0.0


def fair_do(rates: list[CrewRate]) -> str:
    """What follows from the comparison."""
    if apart(rates, 1):
        return "See on the weak-steps sheet what to practise with that crew; a rate does not say what is done there."
    if apart(rates, -1):
        return "Ask what is done differently there, and show it to the others."
    return "Put effort into the causes that all crews share; the causes sheet ranks them."


def months_says(months: list[Month]) -> str:
    """Caption of the trend; it names no rise or fall, because no test of one stands behind it."""
    complete = [entry for entry in months if entry.is_complete]
    if not complete:
        return "No month is complete yet"
    last, late = complete[-1], len(months) - len(complete)
    few = "too few door-years for a rate" if last.door_years > 0 else "no door at risk"
    rate = f"{last.per_100.words()} per 100 door-years" if last.per_100 else few
    return f"Complete to {month(last.month)}: {counted(last.callbacks, 'callback')} in it, {rate}{_late_words(late)}"


def _late_words(late: int) -> str:
    if not late:
        return ""
    return (
        "; the month after it is not complete"
        if late == 1
        else f"; the {few_in_words(late)} months after it are not complete"
    )


def months_how(months: list[Month]) -> str:
    """How to read the trend, and how late paper was found."""
    base = (
        "By month of reporting, each with its 95 % interval; an arrow head means that it goes on. The chain line is "
        "the firm over the whole time. Bars below: callbacks counted."
    )
    if all(entry.is_complete for entry in months):
        return base
    return (
        f"{base} In the hatched months part of the paper has not arrived, going by how long it took before: they look "
        "better than they are."
    )


def cost_says(rates: list[CrewRate], firm: Firm) -> str:
    """What the callbacks cost so far, and of how many the cost is known."""
    whole = whole_firm(rates)
    if whole is None or not whole.callbacks_all:
        return "No callback, no cost"
    if not whole.cost_known or whole.cost is None:
        none = f"The cost of none of {counted(whole.callbacks_all, 'callback')} is known"
        return f"{none}: write labour_rate or callback_cost into fitback.toml"
    each = money(whole.cost / whole.cost_known, firm.currency)
    known = f"for {_known_of_all(whole)} {'callback' if whole.callbacks_all == 1 else 'callbacks'}"
    unit = "" if firm.currency else " (no currency is set; write it in fitback.toml)"
    return f"Known cost to date {money(whole.cost, firm.currency)}{unit}, {known}: {each} each on average"


def _known_of_all(whole: CrewRate) -> str:
    """`40 of 96`, or `all 96` where the cost of each is known."""
    if whole.cost_known == whole.callbacks_all > 1:
        return f"all {count(whole.callbacks_all)}"
    return f"{count(whole.cost_known)} of {count(whole.callbacks_all)}"


def three_counts(rates: list[CrewRate], firm: Firm) -> str:
    """Why callbacks are counted three ways, with each count and what it is of."""
    whole = whole_firm(rates)
    if whole is None or not firm.callbacks:
        return ""
    known = "all" if whole.cost_known == whole.callbacks_all else count(whole.cost_known)
    return (
        f"Three counts of callbacks stand on this sheet. All that were reported: {count(firm.callbacks)}. Those that "
        f"open an episode on a known door in the time watched, whoever answers for them: "
        f"{count(whole.callbacks_all)}; the cost is known for {known} of these. Those of them that crews answer for: "
        f"{count(whole.callbacks)}; only these make the rates."
    )


def others_say(responsibilities: list[Tally]) -> str:
    """The share of callbacks that crews do not answer for."""
    total = sum(tally.rows for tally in responsibilities)
    others = sum(tally.rows for tally in responsibilities if tally.name not in ANSWERED)
    if not total:
        return "No callback has been reported"
    if not others:
        return f"Crews answer for 100 % of {counted(total, 'callback')} reported"
    return f"Crews do not answer for {percent(others / total)} of {counted(total, 'callback')} reported"

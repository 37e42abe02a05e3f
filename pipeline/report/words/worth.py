"""What the first acts are worth a year: for the owner. Nothing is summed, as causes overlap."""

from pipeline.report.numbers import Interval, as_name, first_listed, in_currency, listed, may_reach, moneys
from pipeline.report.rows.table_rows import Effect
from pipeline.report.words.causes import claimed, is_worth_known, one_a_deviation, quoted
from pipeline.report.words.common import act_of

MOST_LEVEL, MOST_COSTS = 2, 4
UNKNOWN = "Which act is worth most cannot be said before a cause is shown; see the causes sheet."
UNPRICED = (
    "Which act is worth most cannot be said: of the causes shown too little is recorded to tell what each would spare."
)
HOW = (
    "What the callbacks cost that go with each cause in a year, had every door been at its limit; under its name the "
    "first callbacks and the doors behind it. Lines are 95 % intervals; those that overlap stand in no sure order. One "
    "callback may count with several causes, so they are not to be added up."
)
DO = "Weigh each against what it costs to do it on every door."

Worth = tuple[Effect, Interval]


def worth_most(effects: list[Effect], currency: str | None) -> str:
    """The act that could spare most a year, and which others may spare as much: their intervals overlap its own."""
    ranked = priced(effects) or _counted(effects)
    if not ranked:
        return UNPRICED if claimed(effects, "strong") else UNKNOWN
    first, most = ranked[0]
    level = [quoted(effect) for effect, worth in ranked[1:] if may_reach(worth, most)]
    return f"Worth most: {act_of(first)}. {_spares(first, currency)}.{_as_much(level)}{_without_cost(effects)}"


def priced(effects: list[Effect]) -> list[Worth]:
    """The shown causes with the cost a year that each could spare, the dearest first; none of unknown cost."""
    return _ranked([(effect, in_money(effect)) for effect in _known(effects)])


def _counted(effects: list[Effect]) -> list[Worth]:
    return _ranked([(effect, effect.avoidable) for effect in _known(effects)])


def _known(effects: list[Effect]) -> list[Effect]:
    return [effect for effect in claimed(effects, "strong") if is_worth_known(effect)]


def _ranked(worths: list[tuple[Effect, Interval | None]]) -> list[Worth]:
    """The largest first; of each deviation the fault that it costs most by."""
    known = sorted(((effect, worth) for effect, worth in worths if worth), key=lambda pair: -pair[1].estimate)
    first = one_a_deviation([effect for effect, _ in known])
    return [(effect, worth) for effect, worth in known if effect in first]


def _spares(effect: Effect, currency: str | None) -> str:
    callbacks = f"about {effect.avoidable.words()} callbacks" if effect.avoidable else ""
    cost, fault = in_money(effect), as_name(effect.fault_words)
    if cost is None:
        return f"On every door, that could spare {callbacks} for {fault} a year"
    return f"On every door, that could spare {in_currency(cost.words(), currency)} a year: {callbacks} for {fault}"


def _as_much(level: list[str]) -> str:
    """The acts whose intervals overlap that of the first."""
    return f" Putting right {first_listed(level, MOST_LEVEL)} may be worth as much." if level else ""


def _without_cost(effects: list[Effect]) -> str:
    """Causes whose cost is not known while that of others is."""
    known, with_cost = _known(effects), {effect.deviation for effect, _ in priced(effects)}
    without = [quoted(effect) for effect in one_a_deviation(known) if effect.deviation not in with_cost]
    named = first_listed(without, MOST_LEVEL)
    return f" What {named} would spare in money is not known." if with_cost and without else ""


def in_money(effect: Effect) -> Interval | None:
    """The cost a year that putting it right could spare; None where either is not known."""
    avoidable, cost = effect.avoidable, effect.avoidable_cost_per_year
    if avoidable is None or not cost or not is_worth_known(effect):
        return None
    # The ends are those of the callbacks spared, at the same cost each: what a callback costs is taken as known.
    return avoidable.scaled(cost / avoidable.estimate)


def says(ranked: list[Worth], currency: str | None) -> str:
    """Caption of the figure: the first cause with its cost."""
    first, worth = ranked[0]
    is_level = any(may_reach(other, worth) for _, other in ranked[1:])
    others = "" if len(ranked) == 1 else "; others may spare as much" if is_level else ", then the others"
    return f"Cost a year that could be spared: {in_currency(worth.words(), currency)} with {quoted(first)}{others}"


def cost_of_one(ranked: list[Worth], currency: str | None) -> str:
    """What one callback costs for the fault of each act: it may be far from the average of all faults."""
    each = {
        as_name(effect.fault_words): worth.estimate / effect.avoidable.estimate
        for effect, worth in ranked
        if effect.avoidable
    }
    told = zip(each, moneys(list(each.values()), currency), strict=True)
    costs = listed([f"{cost} for {fault}" for fault, cost in told], MOST_COSTS)
    return (
        f"One callback costs {costs}, as far as that is known; the intervals are those of the callbacks spared, not of "
        "what one costs."
    )

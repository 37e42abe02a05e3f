"""What comes back, and why: sentences about the pairs of a deviation and a fault."""

from collections import Counter

from pipeline.report.numbers import as_name, capital, count, counted, listed, number, percent, plain
from pipeline.report.rows.table_rows import SHOWN, Effect
from pipeline.report.words.common import act_of, few_in_words, pair, with_unit

LEAST_EVENTS, LEAST_SHARE = 10, 0.2
FIRST_ACTS = 3
LEAST_SPARED = 0.1  # callbacks a year
ALL_PARTS = 0.995  # of what a check looks at on one door: its leaves, or the door


def causes(effects: list[Effect]) -> list[Effect]:
    """The pairs that can be trained or put right: causes only, no other way of measuring one."""
    return [effect for effect in effects if effect.role == "cause"]


def claimed(effects: list[Effect], evidence: str) -> list[Effect]:
    """The causes of that evidence whose interval clears `no effect`, the most avoidable callbacks first."""
    found = [effect for effect in causes(effects) if effect.evidence == evidence and effect.is_claimed]
    return sorted(found, key=lambda effect: -(effect.avoidable_per_year or 0.0))


def is_worth_known(effect: Effect) -> bool:
    """The interval of what could be spared lies above zero, and reaches what a firm would notice."""
    return effect.avoidable is not None and effect.avoidable.side > 0 and not is_hardly_any(effect)


def is_hardly_any(effect: Effect) -> bool:
    """Even the upper end of what could be spared is less than a callback in ten years."""
    return effect.avoidable is not None and abs(effect.avoidable.low) < LEAST_SPARED > effect.avoidable.high


def quoted(effect: Effect) -> str:
    """The deviation's words in quotes, so that they stand in any sentence."""
    return f"“{as_name(effect.words)}”"


def times(effect: Effect) -> str:
    """`3.1 times (2.0 to 4.7)`, turned to the worse direction; empty where there is no interval."""
    return effect.ratio.words(unit=" times") if effect.ratio else ""


def contrast(effect: Effect) -> str:
    """What is compared: failed against passed, or the 90th against the 10th percentile, in the worse direction."""
    if effect.is_check:
        part = effect.contrast_to
        usual = f" on the usual {percent(part)} of a door's parts" if part is not None and part < ALL_PARTS else ""
        return f"where the check failed{usual}, against where it passed"
    if effect.contrast_from is None or effect.contrast_to is None:
        return "on the worse doors, against the better ones"
    ends = effect.contrast_to, effect.contrast_from
    # a thousandth of the other end is the arithmetic of a straight line, not a reading
    least = max(map(abs, ends)) / 1000
    far, near = (with_unit(plain(value if abs(value) >= least else 0.0, 2), effect.unit) for value in ends)
    return f"at {far}, against {near}"


def spared(effect: Effect) -> str:
    """What putting it right could be worth a year, as a half sentence, with no more than the interval supports."""
    avoidable = effect.avoidable
    if avoidable is None:
        return "how many callbacks that is a year cannot be told yet"
    if is_hardly_any(effect):
        return "hardly a callback a year is at stake, as few doors pass the limit"
    if not is_worth_known(effect):
        return f"how many callbacks that is a year is not clear: {avoidable.words()}"
    return f"about {avoidable.words()} callbacks a year could be spared with every door at its limit"


def base_of(effects: list[Effect]) -> str:
    """Of how many a year the callbacks spared are taken, for the first cause; empty where that is not known."""
    first = next((effect for effect in claimed(effects, "strong") if is_worth_known(effect)), None)
    if first is None or not first.attributable_share or first.avoidable_per_year is None or not first.avoidable:
        return ""
    base = number(first.avoidable_per_year / first.attributable_share)
    return (
        f"Counted against the last year of the log, which brought {base} callbacks for "
        f"{as_name(first.fault_words)} a year that crews answer for: about {first.avoidable.words()} of them go with "
        f"{quoted(first)}."
    )


def headline(effects: list[Effect]) -> str:
    """The answer of the causes sheet in one sentence."""
    strong, hints = claimed(effects, "strong"), claimed(effects, "suggestive")
    answered = [effect for effect in causes(effects) if effect.is_answered]
    if strong:
        return _strong_headline(strong)
    if hints:
        first, number = hints[0], few_in_words(len(hints))
        return (
            f"No cause is shown for certain yet; the records hint at {number}, first {pair(first)}, "
            f"{times(first)} as often."
        )
    if answered:
        pairs = counted(len(answered), "pair")
        return f"Nothing measured can be tied to the callbacks: none of {pairs} with enough records stands out."
    if effects:
        return (
            "The records cannot say yet what causes callbacks: no pair of a deviation and a fault has enough of them."
        )
    return "No fault has been called back on a door with records, so nothing can be tied to a cause yet."


def _strong_headline(strong: list[Effect]) -> str:
    first, n_causes = strong[0], len(one_a_deviation(strong))
    how_many = f"{capital(few_in_words(n_causes))} causes stand out, first" if n_causes > 1 else "One cause stands out:"
    name, fault = quoted(first), as_name(first.fault_words)
    if is_worth_known(first) and first.avoidable:
        return f"{how_many} {name}: about {first.avoidable.words()} callbacks a year for {fault} go with it."
    return f"{how_many} {name}: {fault} comes back {times(first)} as often with it."


def what_was_tried(effects: list[Effect]) -> str:
    """How many pairs there are and what came of them."""
    tried = causes(effects)
    if not tried:
        return ""
    found = Counter(effect.evidence for effect in tried)
    names = {"strong": "strong evidence", "suggestive": "a hint", "none": "nothing"}
    shown = [(count(found[evidence]), words) for evidence, words in names.items() if found[evidence]]
    verb = "shows" if shown and shown[0][0] == "1" else "show"
    parts = [f"{n} {words}" if at else f"{n} {verb} {words}" for at, (n, words) in enumerate(shown)]
    pairs = counted(len(tried), "pair")
    if not parts:
        return f"Of {pairs} of a deviation and a fault none can be told yet: the records are too few."
    too_few = f"; for {count(found['too_few'])} the records are too few to tell" if found["too_few"] else ""
    return f"Of {pairs} of a deviation and a fault {listed(parts)}{too_few}."


def without_doubtful(effects: list[Effect]) -> str:
    """Whether the findings stand without the readings of crews whose records are in doubt; empty where none are."""
    doubted = max((effect.doubted_doors or 0 for effect in effects), default=0)
    shown = [effect for effect in causes(effects) if effect.evidence in SHOWN]
    if not doubted:
        return ""
    of_doors = f"The readings of {counted(doubted, 'door')} are in doubt (sheet 5, Records)"
    fallen = [effect for effect in shown if not effect.stands_without_doubtful]
    if not shown:
        return f"{of_doors}; no cause is claimed from them."
    if not fallen:
        stand = f"all {count(len(shown))} findings stand" if len(shown) > 1 else "the one finding stands"
        return f"{of_doors}; with them left out {stand} in the same direction."
    n_standing = len(shown) - len(fallen)
    stand = f"{few_in_words(n_standing)} of {counted(len(shown), 'finding')} {'stand' if n_standing > 1 else 'stands'}"
    return f"{of_doors}; with them left out {stand}; {'; '.join(_why_fallen(fallen))}."


def _why_fallen(fallen: list[Effect]) -> list[str]:
    """Of the findings that do not stand: which turn round, and of which too few doors are left."""
    turned = [effect for effect in fallen if effect.ratio_without_doubtful is not None]
    few = [effect for effect in fallen if effect.ratio_without_doubtful is None]
    named = (("turned round", turned), ("too few doors left to tell", few))
    return [f"{lead}: {listed([pair(effect) for effect in some], most=3)}" for lead, some in named if some]


def ranked_says(effects: list[Effect]) -> str:
    """Caption of the ranking: what to put right first."""
    clear = [effect for effect in claimed(effects, "strong") if is_worth_known(effect)]
    if not clear:
        return "Nothing clearly comes first yet"
    return f"Most to gain from: {listed([as_name(effect.words) for effect in one_a_deviation(clear)[:3]], most=3)}"


def of_them_causes(effects: list[Effect]) -> str:
    """Why the table has more pairs than the map: other ways of measuring a cause stand in it too."""
    others = [effect for effect in effects if effect.role != "cause"]
    if not others:
        return ""
    answered = sum(effect.is_answered for effect in others)
    return (
        f"{count(answered)} of {counted(len(others), 'pair')} among them measure a cause in another way, and are not "
        "counted in the figures above. "
    )


def one_a_deviation(effects: list[Effect]) -> list[Effect]:
    """The first pair of each deviation, the order kept."""
    first: dict[str, Effect] = {}
    for effect in effects:
        first.setdefault(effect.deviation, effect)
    return list(first.values())


def first_act(effects: list[Effect]) -> str:
    """What to do first, and how sure that is: of the first cause of the headline; empty where none is shown."""
    strong = claimed(effects, "strong")
    if not strong:
        return ""
    act, fault = act_of(strong[0]), as_name(strong[0].fault_words)
    return f"Do first: {act}. Strong evidence: {fault} comes back {times(strong[0])} as often with {quoted(strong[0])}."


def ranked_do(effects: list[Effect]) -> str:
    """What follows: the act of the first cause, else what would make an answer possible."""
    strong = one_a_deviation(claimed(effects, "strong"))
    if strong:
        after = " Then go down the list." if len(strong) > 1 else ""
        return f"{capital(act_of(strong[0]))}.{after}"
    if claimed(effects, "suggestive"):
        return "Keep recording; for a hint alone change nothing that costs more than a talk with the crews."
    return "Keep recording every door, good ones too; without them nothing can be compared."


def sizes_says(effects: list[Effect]) -> str:
    """Caption of the effect sizes."""
    shown = claimed(effects, "strong") or claimed(effects, "suggestive")
    if not shown:
        return "No fault comes back clearly more often with any deviation"
    first = max(shown, key=lambda effect: effect.contrast_low or 0.0)
    said = f"{as_name(first.fault_words)} comes back {times(first)} as often with {quoted(first)}"
    return capital(said) if first.evidence == "strong" else f"A hint: {said}"


def unexpected(effects: list[Effect]) -> list[Effect]:
    """Pairs in the better direction that chance would rarely give: the records need a look, not the doors."""
    hints = [effect for effect in causes(effects) if effect.evidence == "suggestive"]
    return [effect for effect in hints if effect.ratio is not None and effect.ratio.side < 0]


def why_not(effects: list[Effect]) -> list[tuple[str, int]]:
    """Why the unanswered pairs are unanswered, with how many each, the most first."""
    reasons = Counter(_reason(effect) for effect in causes(effects) if not effect.is_answered)
    return reasons.most_common()


def _reason(effect: Effect) -> str:
    if (effect.recorded_share or 0.0) < LEAST_SHARE:
        return f"the deviation is recorded on fewer than {percent(LEAST_SHARE)} of doors"
    if effect.events < LEAST_EVENTS:
        return f"the fault came back fewer than {LEAST_EVENTS} times on doors with the deviation recorded"
    if effect.note and "cannot be told apart" in effect.note:
        return "two deviations always come together, so that they cannot be told apart"
    return "the doors are too alike in it, or too few of them were called back"


def map_says(effects: list[Effect]) -> str:
    """Caption of the map of pairs."""
    tried = causes(effects)
    answered = sum(effect.is_answered for effect in tried)
    if not answered:
        return f"None of {counted(len(tried), 'pair')} can be answered yet"
    return f"{count(answered)} of {counted(len(tried), 'pair')} can be answered; a blank is a question still open"

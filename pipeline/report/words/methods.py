"""How the numbers are made and whether what was found holds: sentences for the methods sheet."""

from pipeline.report.numbers import bare_times, count, counted, listed
from pipeline.report.rows.method_rows import OtherWay
from pipeline.report.words.common import few_in_words, pair

VERDICTS = {
    "holds": "holds",
    "weaker": "weaker: the interval holds no effect",
    "turns": "turns round",
    "too_few": "too few to tell",
}
AGAINST = ("weaker", "turns")
MOST_DRAWN = 16  # findings: more of them could not be read on paper
ASSUMED = (
    ("Time.", "A door counts from handover for as long as it was watched; a rate is never callbacks over doors."),
    (
        "Order.",
        "A deviation is compared among doors alike in everything recorded of the door, of the crew and of the steps "
        "before it; never of steps after it, since what it brings about is how it works.",
    ),
    (
        "Crews.",
        "The headline compares doors of one crew with one another, so that a careful crew cannot pass for a good sill. "
        "What was never recorded, such as a hurry on one day, can still stand behind both.",
    ),
    (
        "Not recorded.",
        "What is not recorded is not zero. An effect comes from doors where the deviation is recorded, and holds if "
        "recording it did not depend on what came back later.",
    ),
    (
        "Many questions.",
        "Every pair of deviation and fault is a question. Strong evidence is what stays below one in twenty false "
        "claims among all that are made; the pairs that the trade expects are one family of questions, all others "
        "another.",
    ),
    (
        "Too few.",
        "Whether a pair can be answered is decided from how many doors and callbacks it has, before its answer is "
        "looked at.",
    ),
)


def findings(ways: list[OtherWay]) -> list[OtherWay]:
    """Each finding once, as reported."""
    return [way for way in ways if way.is_as_reported]


def fallen(ways: list[OtherWay]) -> list[OtherWay]:
    """The findings that some other way weakens or turns round."""
    return _with_verdict(ways, AGAINST)


def left_open(ways: list[OtherWay]) -> list[OtherWay]:
    """The findings of which some other way leaves too few to tell, and that none speaks against."""
    lost = {finding.pair for finding in fallen(ways)}
    return [finding for finding in _with_verdict(ways, ("too_few",)) if finding.pair not in lost]


def _with_verdict(ways: list[OtherWay], verdicts: tuple[str, ...]) -> list[OtherWay]:
    pairs = {way.pair for way in ways if way.verdict in verdicts}
    return [finding for finding in findings(ways) if finding.pair in pairs]


def drawn(ways: list[OtherWay]) -> list[OtherWay]:
    """What is said of the findings that the figure has room for, in their order: those in doubt before others."""
    held = {way.pair for way in findings(ways)} - {way.pair for way in (*fallen(ways), *left_open(ways))}
    first = sorted(findings(ways), key=lambda way: way.pair in held)[:MOST_DRAWN]
    pairs = {way.pair for way in first}
    return [way for way in ways if way.pair in pairs]


def more(ways: list[OtherWay]) -> str:
    """That the figure has not all of them; empty where it has."""
    found = len(findings(ways))
    if found <= MOST_DRAWN:
        return ""
    return f" Drawn are {MOST_DRAWN} of {found} findings, those in doubt before others; the table has all."


def headline(ways: list[OtherWay]) -> str:
    """How many findings hold in every way of looking."""
    found, lost, unsure = len(findings(ways)), len(fallen(ways)), len(left_open(ways))
    if not found:
        return "Nothing is claimed yet, so there is nothing to look at in another way."
    held = found - lost - unsure
    if held == found:
        return f"{_all(found)} in every other way of looking that was tried."
    rest = [
        f"{few_in_words(lost)} {'does' if lost == 1 else 'do'} not" if lost else "",
        f"too few are left to tell of {few_in_words(unsure)}" if unsure else "",
    ]
    counted_held = f"{few_in_words(held).capitalize()} of {counted(found, 'finding')}"
    holds = "holds" if held == 1 else "hold"
    return f"{counted_held} {holds} in every other way of looking; {', and '.join(filter(None, rest))}."


def _all(found: int) -> str:
    return "The one finding holds" if found == 1 else f"All {few_in_words(found)} findings hold"


def ways_says(ways: list[OtherWay]) -> str:
    """Which findings do not hold, and in which way."""
    lost, unsure = fallen(ways), left_open(ways)
    if not lost:
        few = f"; {few_in_words(len(unsure))} cannot be told in some of the ways" if unsure else ""
        return f"No finding loses its direction or its certainty when looked at otherwise{few}"
    named = []
    for finding in lost[:3]:
        where = [way.what for way in ways if way.pair == finding.pair and way.verdict in AGAINST]
        named.append(f"{pair(finding)} ({listed(where)})")
    return f"Not in every way of looking: {listed(named)}"


def unmeasured_says(ways: list[OtherWay]) -> str:
    """How strong something unrecorded would have to be to explain the least and the most robust finding away."""
    known = [way for way in findings(ways) if way.e_value_low is not None]
    if not known:
        return ""
    known.sort(key=lambda way: way.e_value_low or 1.0)
    least = known[0]
    others = f"; for the sturdiest, {pair(known[-1])}, {_e_value(known[-1])}" if len(known) > 1 else ""
    which = f"The least sturdy finding, {pair(least)}" if others else f"The finding, {pair(least)}"
    return (
        f"{which}: something that nobody recorded would have to go with both the deviation and the fault "
        f"{_e_value(least)}{others}."
    )


def _e_value(way: OtherWay) -> str:
    assert way.e_value is not None
    assert way.e_value_low is not None
    near, whole = bare_times(way.e_value_low), bare_times(way.e_value)
    return f"{near} as often to move its interval to no effect, {whole} to explain all of it"


def ways_count(ways: list[OtherWay]) -> str:
    """`12 findings, each in 5 ways`."""
    names = {way.what for way in ways if not way.is_as_reported}
    return f"{counted(len(findings(ways)), 'finding')} in {count(len(names) + 1)} ways"

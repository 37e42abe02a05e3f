"""Whether the plain model misses anything that the records could show: sentences for the methods sheet."""

from pipeline.report.numbers import NOT_KNOWN, Interval, as_name, count, counted, day, listed
from pipeline.report.rows.check_rows import ModelCheck

MISSED, TOO_FEW = "something missed", "too_few"
HOW = (
    "Line: of two doors of one age, how often the one that came back first had been given the higher risk by the plain "
    "model, the one that recheck uses; 50 % is chance. Ring below it: the same by boosted trees, which see bends, "
    "thresholds and deviations that matter only together; a red cross where they see what the plain model misses. Both "
    "learned from the earlier callbacks only and are judged on the later ones. Doors watched for a short time or from "
    "late on count by how much of their time was seen."
)
VERDICTS = {
    MISSED: "something is missed",
    "nothing missed": "misses nothing that the records can show",
    TOO_FEW: "too few",
}


def judged(checks: list[ModelCheck]) -> list[ModelCheck]:
    """The rows that could be judged."""
    return [check for check in checks if check.verdict != TOO_FEW]


def says(checks: list[ModelCheck]) -> str:
    """The answer, with its numbers over all faults where there are any."""
    known = judged(checks)
    if not known:
        return "Too few callbacks to tell whether the plain model misses anything"
    missed = [check for check in known if check.verdict == MISSED]
    if missed:
        where = listed([as_name(check.name) for check in missed], most=3)
        return f"Something is missed in {where}: look at {_looks(missed)}"
    first = known[0]
    share = first.order_plain.words(100, " %") if first.order_plain else NOT_KNOWN
    of = "" if first.is_all else f" for {as_name(first.name)}"
    return f"The plain model misses nothing that the records can show: it ranks {share} of pairs of doors rightly{of}"


def _looks(missed: list[ModelCheck]) -> str:
    names = dict.fromkeys(name for check in missed for name in (check.look_at or "").split(", ") if name)
    return listed([as_name(name) for name in names], most=4) if names else "its table below"


def do(checks: list[ModelCheck]) -> str:
    """What follows from it; where nothing could be judged, how many callbacks there are and how many it takes."""
    known = judged(checks)
    if not known:
        return _needed(checks)
    if any(check.verdict == MISSED for check in known):
        return (
            "See on sheet 2 whether the risk bends or jumps with what is named, and have doors with more than one of "
            "them looked at first: until then take recheck's risks for these faults as rough."
        )
    return (
        "Use recheck as it is: what is told below of differences and level is already in its risks. This is asked "
        "again with every run."
    )


def _needed(checks: list[ModelCheck]) -> str:
    if not checks:
        return "No fault has ten first callbacks yet; this takes 30 of one to learn from and 30 later ones to judge by."
    most = max(checks, key=lambda check: (not check.is_all, min(check.before, check.came)))
    return (
        f"It takes 30 first callbacks of a fault to learn from and 30 later ones to judge by; the most there are is "
        f"{count(most.before)} and {count(most.came)}, of {as_name(most.name)}. Keep the log complete."
    )


def beside(checks: list[ModelCheck]) -> list[str]:
    """When it was cut, how the challenger compares, how large differences and level came out; of what was judged."""
    first = judged(checks)[0]
    learned = (
        f"Both learned from {counted(first.before, 'first callback')} up to {day(first.cut_on)} and were judged on "
        f"{count(first.came)} that came later, on {counted(first.doors, 'door')}. Of every hundred pairs of doors the "
        f"trees ranked {gain_words(first.order_gain)} rightly than the plain model{_perhaps(first.order_gain)}."
    )
    apart = (
        f"Doors differed {_words(first.apart_plain)} times as much as the plain model foretold, "
        f"{_words(first.apart_challenger)} times as much as the trees did; 1 is as foretold. "
        f"{_words(first.level_of_plain)} times as many callbacks came as the plain model foretold, "
        f"{_words(first.level_of_challenger)} times as many as the trees did. Recheck draws differences in by what was "
        f"seen and takes the level from all the records."
    )
    few = [check for check in checks if check.verdict == TOO_FEW and not check.is_all]
    lacking = f"Of {counted(len(few), 'fault')} there are too few callbacks to tell." if few else ""
    return [sentence for sentence in (learned, apart, lacking) if sentence]


def gain_words(gain: Interval | None) -> str:
    """`1.8 (−0.4 to 4.0) fewer`: told the way the estimate goes."""
    if gain is None:
        return f"{NOT_KNOWN} more"
    if gain.estimate >= 0:
        return f"{gain.words(100)} more"
    return f"{Interval(-gain.estimate, -gain.high, -gain.low, gain.datum).words(100)} fewer"


def _perhaps(gain: Interval | None) -> str:
    return ", which could be chance" if gain is not None and not gain.side else ""


def _words(interval: Interval | None, scale: float = 1.0) -> str:
    return interval.words(scale) if interval else NOT_KNOWN


def verdict(check: ModelCheck) -> str:
    """The verdict in words, with what to look at or to bear in mind."""
    more = f": look at {check.look_at}" if check.verdict == MISSED and check.look_at else ""
    note = f"; {check.note}" if check.note else ""
    return f"{VERDICTS[check.verdict]}{more}{note}"

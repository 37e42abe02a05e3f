"""What would have to be recorded for an answer: doors still needed, nearest first."""

from pipeline.report.numbers import as_name, count, counted, listed
from pipeline.report.rows.table_rows import Effect
from pipeline.report.words.common import pair

MOST_SHOWN = 8
HOW = (
    "Bars: doors on record with the deviation read or seen. Broken on from there: doors needed, if as many of them "
    "come back as now; the number is what is missing. It comes from the records, never from how an answer looks, and "
    "means an answer that can be relied on: a fault four times as often on the worse doors would be found in four "
    "firms of five, one 2.7 times as often in every second."
)


def nearest(effects: list[Effect]) -> list[Effect]:
    """Open questions that more doors would answer: those the trade expects, else all; the fewest missing first."""
    reachable = [
        effect for effect in effects if not effect.is_answered and effect.role == "cause" and effect.doors_needed
    ]
    expected = [effect for effect in reachable if effect.is_expected]
    return sorted(expected or reachable, key=lambda effect: (effect.doors_missing, effect.deviation, effect.fault))


def says(open_pairs: list[Effect]) -> str:
    """The nearest question and what it takes."""
    first = open_pairs[0]
    return f"Nearest to an answer: {pair(first)}, about {counted(first.doors_missing, 'more door')} with it recorded"


def do(open_pairs: list[Effect]) -> str:
    """What to record from now on."""
    names = list(dict.fromkeys(f"“{as_name(effect.words)}”" for effect in open_pairs[:MOST_SHOWN]))
    return f"Record {listed(names, 3)} on every door, good ones too."


def how(open_pairs: list[Effect]) -> str:
    """How to read it, and how many are drawn."""
    n = len(open_pairs)
    more = f" Drawn are {count(MOST_SHOWN)} of {counted(n, 'question')}; effects.csv has all." if n > MOST_SHOWN else ""
    return HOW + more

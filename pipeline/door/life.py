"""A door's life in order: surveyed, fitted, handed over, every callback and what it was, removed, end of the watch."""

from dataclasses import dataclass
from datetime import date
from string import ascii_uppercase

from pipeline.door.trail import DoorTrail, Row
from pipeline.report.numbers import as_name, listed, number

# Of a callback with several faults the first of these that any fault was, as the pages of the firm count it.
KINDS = ("episode", "repeat", "pre_handover", "outside")
KIND_WORDS = {
    "episode": "opened a new fault",
    "repeat": "a repeat of the fault before",
    "pre_handover": "before handover, so a snag and no callback",
    "outside": "outside the time the log covers",
}
ENDS = {"removed": "removed", "warranty": "its warranty ends, and the log with it", "as_of": "records end"}


@dataclass(frozen=True)
class Event:
    """One day of the door's life. kind: a day of the door, or one of KINDS; letter: of a callback, else empty."""

    on: date
    kind: str
    words: str
    letter: str = ""
    callback: Row | None = None

    @property
    def is_call(self) -> bool:
        """A customer called."""
        return self.callback is not None


def events_of(trail: DoorTrail) -> tuple[Event, ...]:
    """Every dated event, the earliest first; of one day the door's own before the calls."""
    facts = trail.facts
    own = [
        Event(facts[name], name, words)
        for name, words in (
            ("surveyed_on", "surveyed"), ("fitted_on", "fitted"), ("handed_over_on", "handed over"),
        )
        if facts[name]
    ]  # fmt: skip
    if facts["from_on"] and facts["started_on"] and facts["started_on"] < facts["from_on"] <= facts["until_on"]:
        own.append(Event(facts["from_on"], "from_on", "the callback log is complete from here"))
    own += _end(facts)
    calls = [_call(trail, row, number) for number, row in enumerate(trail.callbacks)]
    return tuple(sorted([*own, *calls], key=lambda event: (event.on, event.is_call)))


def _end(facts: Row) -> list[Event]:
    ends = []
    if facts["removed_on"]:
        ends.append(Event(facts["removed_on"], "removed_on", "removed from service"))
    if facts["until_on"] and facts["ended_by"] != "removed":
        ends.append(Event(facts["until_on"], "until_on", ENDS[facts["ended_by"]]))
    return ends


def _call(trail: DoorTrail, row: Row, number: int) -> Event:
    faults = [fault for fault in trail.faults if fault["callback_id"] == row["callback_id"]]
    kind = next((kind for kind in KINDS if any(fault["kind"] == kind for fault in faults)), "outside")
    words = listed([as_name(fault["words"]) for fault in faults], most=6) or "no fault told"
    return Event(row["reported_on"], kind, words, _letter(number), row)


def _letter(number: int) -> str:
    """A ... Z, then A2 ... Z2."""
    turn, place = divmod(number, len(ascii_uppercase))
    return f"{ascii_uppercase[place]}{turn + 1}" if turn else ascii_uppercase[place]


def counts_of(events: tuple[Event, ...]) -> dict[str, int]:
    """How many callbacks were of each kind."""
    return {kind: sum(event.is_call and event.kind == kind for event in events) for kind in KINDS}


def years_words(years: float) -> str:
    """`2.4 years`, `0.42 years`."""
    return f"{number(years, 1 if years >= 0.95 else 2)} years"

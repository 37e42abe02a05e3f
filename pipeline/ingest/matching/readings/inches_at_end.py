"""A bare "in" at the end of a heading: inches where the numbers can be, else perhaps the word.

sill_level_right_in, Head gap hinge in; but Left jamb plumb in leans in, and Sill level in stands beside Sill level out.
How people head their columns is common practice, no source.
"""

from collections.abc import Iterable
from dataclasses import replace

from pipeline.ingest.matching.columns.evidence import USUAL, Evidence, units_that_fit
from pipeline.ingest.matching.columns.proposed import TAKEN, Proposed
from pipeline.ingest.matching.words.heading_units import as_in_inches, leaves_open, may_be_inches, split_unit
from pipeline.ingest.matching.words.meaning import SURE, Meaning, reading_meaning
from pipeline.ingest.matching.words.vocabulary import words_of

IN, OPEN = "in by the end of its heading", "'in' in its heading may be inches; say unit ="
# What lies in or out, of which the word may say which; what is counted, or no length.
_WAYS = frozenset({"jamb_face", "jamb_edge", "sill_tilt", "sill_line"})
_NO_LENGTHS = frozenset({"hinge_packers", "running_force", "temperature"})
_OUT = frozenset({"out", "outside", "outer", "outward", "external", "outs"})
# Levels and seals of all doors lie within so many inches of one another, and some are parts of one: who reads so few mm
# writes whole or half ones.
_INCHES_APART, _MM_STEP = 1.0, 0.5
# So many other columns in inches that end so show a program's own way of heading.
_SEVERAL = 2


def size_unit(name: str, heading: str, evidence: Evidence, leaves: float | None) -> str | None:
    """The unit that the heading of a size says; inches at its end where its numbers can be."""
    said = split_unit(heading)[1]
    if said is not None or not may_be_inches(heading) or evidence.named:
        return said
    return "in" if "in" in units_that_fit(name, evidence, leaves) else None


def with_inches(written: str, meaning: Meaning, evidence: Evidence, leaves: float | None) -> tuple[Meaning, str]:
    """The meaning in the inches that its heading ends with, and why it is in doubt; unchanged where cells say more."""
    is_open = meaning.unit in (None, "in") and meaning.name not in _NO_LENGTHS and may_be_inches(written)
    if not is_open or evidence.named or evidence.fractions:
        return meaning, ""
    if meaning.name in USUAL and evidence.values:
        fits = "in" in units_that_fit(meaning.name, evidence, leaves)
        return (replace(meaning, unit="in"), "") if fits else (meaning, OPEN)
    place = meaning.place
    is_at = bool(place.station or place.position_mm or place.member)
    if meaning.name in _WAYS or not is_at or leaves_open(written) or not _can_be_inches(evidence.values):
        return meaning, OPEN
    return replace(meaning, unit="in"), ""


def _can_be_inches(values: tuple[float, ...]) -> bool:
    """Whether numbers are inches rather than mm; nothing but zeros is the same in both."""
    spread = max(values, default=0.0) - min(values, default=0.0)
    return not any(values) or (spread <= _INCHES_APART and any(value % _MM_STEP for value in values))


def with_their_like(found: dict[str, Proposed], headings: Iterable[str]) -> dict[str, Proposed]:
    """The entries; all that end so are in inches beside several that are, none beside others that end with out.

    Of one measure none is in inches where another of it is left open: zeros alone tell nothing of next month's.
    """
    outs = {_kind_of(_named(one)) for one in headings if set(words_of(one)) & _OUT}
    ending = {key: one for key, one in found.items() if may_be_inches(key) and not _is_told(one)}
    n_sized = sum(not one.doubt and _measure(one) in USUAL for one in ending.values())
    left_open = {_measure(one) for one in ending.values() if one.doubt == OPEN}
    made = dict(found)
    for key, one in ending.items():
        if _measure(one) in USUAL:
            continue
        if _kind_of(_measure(one)) in outs:
            made[key] = replace(one, sure=0.0, doubt=OPEN)
        elif one.doubt == OPEN and not outs - {""} and n_sized >= _SEVERAL:
            made[key] = _in_inches(one)
        elif _measure(one) in left_open:
            made[key] = replace(one, sure=0.0, doubt=OPEN)
    return made


def _is_told(one: Proposed) -> bool:
    """Whether something else than the end of its heading says its unit, or that it is no length at all."""
    return dict(one.each.fixed).get("unit") != "in" and one.doubt != OPEN


def _measure(one: Proposed) -> str:
    return dict(one.each.fixed).get("measure", "")


def _named(heading: str) -> str:
    meaning = reading_meaning(heading)
    return meaning.name if meaning is not None else ""


def _kind_of(measure: str) -> str:
    """What is level or plumb, whichever way it is read: all of the sill, all of a jamb."""
    return measure.partition("_")[0] if measure in _WAYS | {"sill_height"} else ""


def _in_inches(one: Proposed) -> Proposed:
    """The entry in inches, if nothing else in its heading is in doubt."""
    heading = str(one.each.heading or one.each.item)
    meaning = None if leaves_open(heading) else reading_meaning(as_in_inches(heading))
    if meaning is None or meaning.rival or meaning.sure < SURE:
        return one
    fixed = tuple((name, "in" if name == "unit" else value) for name, value in one.each.fixed)
    return replace(
        one, each=replace(one.each, fixed=fixed), why=one.why.replace(TAKEN, IN), how=IN, sure=meaning.sure, doubt=""
    )

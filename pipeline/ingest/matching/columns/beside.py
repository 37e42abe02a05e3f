"""What is written over several columns: a name or an address in parts, a number and its unit."""

from pipeline.ingest.matching.columns.evidence import Evidence
from pipeline.ingest.matching.columns.layout import Layout
from pipeline.ingest.matching.sheet.headings import JOINT
from pipeline.ingest.matching.words.heading_units import unit_named
from pipeline.ingest.matching.words.vocabulary import parts_of, words_of

# What stands between the parts.
BETWEEN = {"customer": " ", "address": ", "}
_MEASURED = 0.6


def parts_beside(layout: Layout, column: str, first: str | None) -> tuple[str, ...]:
    """The headings (folded), in order, of a column written in parts; empty where it is not. first: the one it has."""
    groups = [_headings_of(layout, ways) for ways in parts_of(column)]
    if first is not None and not any(first in group for group in groups):
        groups.insert(0, [first])
    found = tuple(dict.fromkeys(group[0] for group in groups if group))
    return found if len(found) > 1 else ()


def _headings_of(layout: Layout, ways: tuple[tuple[str, ...], ...]) -> list[str]:
    return [
        heading
        for heading in layout.heads.places
        if words_of(layout.lowest(heading)) in ways and layout.evidence[heading].filled
    ]


def units_beside(layout: Layout) -> dict[str, str]:
    """By heading (folded) of a column of numbers, that of the column of units of it.

    Under one name (Size / W, Size / H, Size / Unit) a unit is of all numbers there; else it follows its numbers.
    """
    found: dict[str, str] = {}
    waiting: list[str] = []
    measured = [heading for heading, evidence in layout.evidence.items() if _are_measured(evidence)]
    for heading in layout.evidence:
        if _is_of_units(layout, heading):
            named = [one for one in measured if JOINT in heading and _of_what(heading) in (one, _of_what(one))]
            # a form's units stand where they stand: what goes before is no number of theirs
            is_alone = JOINT in heading and layout.heads.n_rows == 1
            found |= dict.fromkeys(named if named or is_alone else waiting, heading)
            waiting = [one for one in waiting if one not in named] if named or is_alone else []
        elif heading in measured:
            waiting.append(heading)
    return found


def _are_measured(evidence: Evidence) -> bool:
    return evidence.numbers >= _MEASURED and evidence.days < _MEASURED


def _of_what(heading: str) -> str:
    """What stands right over the lowest part of a heading; nothing where it has one part."""
    return heading.split(JOINT)[-2] if JOINT in heading else ""


def _is_of_units(layout: Layout, heading: str) -> bool:
    texts = layout.evidence[heading].texts
    return (
        words_of(layout.lowest(heading))[-1:] == ("unit",) and bool(texts) and all(unit_named(text) for text in texts)
    )

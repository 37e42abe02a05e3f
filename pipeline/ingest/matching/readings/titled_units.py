"""The unit that a title says of all numbers under it: all dimensions in inches; Panel gaps at final adjustment, inches.

How titles say so is common practice, no source.
"""

import re
from dataclasses import replace

from pipeline.ingest.matching.columns.evidence import Evidence, units_that_fit
from pipeline.ingest.matching.columns.layout import Layout
from pipeline.ingest.matching.columns.proposed import BY_SIZE, FITS, TAKEN, Proposed
from pipeline.ingest.matching.sheet.headings import without_number
from pipeline.ingest.matching.words.meaning import SURE, reading_meaning

_UNIT = r"(mm|millimet\w+|cm|centimet\w+|in(?:s|ch|ches)?)"
_ALL_IN = re.compile(
    r"\b(?:dimensions?|dims?|measurements?|sizes|readings|figures|values|numbers|gaps|all|everything)\s+(?:are\s+)?"
    rf"(?:given\s+|taken\s+)?in\s+{_UNIT}\b",
    re.IGNORECASE,
)
# A unit set off from the rest of a title, or alone; a bare "in" may be the word.
_SET_OFF = re.compile(
    r"(?:^|[,;:(\[\u2013-])\s*(?:all\s+)?(?:in\s+)?(mm|millimet(?:re|er)s?|cm|centimet(?:re|er)s?|inch(?:es)?)\s*"
    r"(?:$|[,;)\]])",
    re.IGNORECASE,
)
# What numbers are in that name no unit: mm unless I wrote it, inches unless stated otherwise.
_UNLESS = re.compile(
    r"\b(mm|millimet(?:re|er)s?|cm|centimet(?:re|er)s?|in(?:s|ch|ches)?)\s+"
    r"(?:unless|except\s+where|where\s+not|if\s+not|if\s+nothing)\b",
    re.IGNORECASE,
)
# How a proposal tells what its bare numbers are in.
_BARE = re.compile(r"cells that name none are set aside|\w+ where they name none")


def as_the_title_says(found: dict[str, Proposed], layout: Layout) -> dict[str, Proposed]:
    """The entries; numbers that nothing but custom makes mm are in inches where a title says so, and nothing else.

    Of units that the numbers fit, the title's is theirs. Where their size makes them mm and the title says inches, a
    person says who is right.
    """
    unit = _unit_of_all(layout)
    if not unit:
        return found
    made = dict(found)
    for heading, one in found.items():
        if one.doubt.startswith(FITS) and unit in re.split(r"\W+", one.doubt.removeprefix(FITS).partition(";")[0]):
            made[heading] = _in_unit(one, unit, _sure(layout, heading))
        elif unit == "in" and one.how == TAKEN:
            made[heading] = _in_unit(one, unit, one.sure)
        elif unit == "in" and one.how == f"mm {BY_SIZE}":
            made[heading] = replace(one, sure=0.0, doubt="its numbers fit mm, and the title says inches; say unit =")
        elif one.each.bare_unit not in (None, unit) and _may_be_in(unit, one, layout.evidence[heading]):
            why = _BARE.sub(f"{unit} where they name none, as the title says", one.why)
            made[heading] = replace(one, each=replace(one.each, bare_unit=unit), why=why)
    return made


def _may_be_in(unit: str, one: Proposed, evidence: Evidence) -> bool:
    """Whether the numbers beside which no unit stands can be in a unit: nothing speaks for others, or it does too."""
    bare = replace(evidence, values=tuple(value for value in evidence.bare if value))
    fitting = units_that_fit(dict(one.each.fixed).get("measure", ""), bare)
    return not fitting or unit in fitting


def _unit_of_all(layout: Layout) -> str:
    """The only unit that titles say of all numbers; empty where they say none or several."""
    texts = [text for said in (_ALL_IN, _SET_OFF, _UNLESS) for title in layout.titles for text in said.findall(title)]
    units = {"in" if text.casefold().startswith("in") else text[0].casefold() + "m" for text in texts}
    return units.pop() if len(units) == 1 else ""


def _sure(layout: Layout, heading: str) -> float:
    """How sure a heading alone is; not at all where it may say two things."""
    meaning = reading_meaning(without_number(layout.said(heading)))
    return meaning.sure if meaning is not None and meaning.sure >= SURE and not meaning.rival else 0.0


def _in_unit(one: Proposed, unit: str, sure: float) -> Proposed:
    """The entry in a unit that the title says."""
    fixed = tuple((name, unit if name == "unit" else value) for name, value in one.each.fixed)
    told = f"in {'inches' if unit == 'in' else unit}, as the title says"
    why = one.why.replace(TAKEN, told) if TAKEN in one.why else f"{one.why}{told}"
    doubt = "" if sure >= SURE else one.doubt
    return replace(one, each=replace(one.each, fixed=fixed), why=why, how=told, sure=sure, doubt=doubt)

"""Proposes what each column of readings or ticks is: one entry of `each` for every heading that means one."""

from dataclasses import dataclass, replace

from pipeline.catalogue import Catalogue
from pipeline.ingest.matching.evidence import USUAL, Evidence, is_plausible, units_that_fit
from pipeline.ingest.matching.headings import without_number
from pipeline.ingest.matching.layout import Layout
from pipeline.ingest.matching.mapping import Each
from pipeline.ingest.matching.meaning import SURE, Meaning, check_meaning, reading_meaning
from pipeline.ingest.matching.places import LEAF_MEASURES
from pipeline.ingest.matching.vocabulary import words_of

# A column counts as one of ticks, or of numbers, from these shares on.
_TICKS, _NUMBERS = 0.5, 0.3


@dataclass(frozen=True)
class Proposed:
    """An entry of `each`. along: the door's width or height that its share is of; doubt: why it is not sure."""

    record: str
    each: Each
    along: str
    why: str
    sure: float
    doubt: str = ""


def propose_each(layout: Layout, catalogue: Catalogue, leaves: float | None) -> dict[str, Proposed]:
    """By folded heading, what every column that names a reading or a check is, sure or not."""
    found = {}
    for heading, evidence in layout.evidence.items():
        written = layout.heads.written[layout.heads.places[heading]]
        one = propose_one(written, evidence, catalogue, leaves)
        if one is not None:
            found[heading] = one
    return found


def propose_one(
    written: str, evidence: Evidence, catalogue: Catalogue, leaves: float | None, unit: str | None = None
) -> Proposed | None:
    """What a heading with such contents is; None where it names neither a reading nor a check.

    unit  where another heading says it
    """
    text = without_number(written)
    reading, check = reading_meaning(text), check_meaning(text)
    is_ticked = evidence.ticks >= _TICKS and evidence.ticks > evidence.numbers
    if check is not None and (is_ticked or (not evidence.filled and (reading is None or check.sure > reading.sure))):
        return _check(written, check, evidence)
    if reading is not None and unit is not None:
        reading = replace(reading, unit=unit)
    has_values = evidence.numbers >= _NUMBERS or not evidence.filled or (check is None and evidence.ticks >= _TICKS)
    if reading is not None and has_values and evidence.days < 0.5:
        return _reading(written, reading, evidence, catalogue, leaves)
    return None


def of_leaf_row(one: Proposed) -> Proposed:
    """The entry in a sheet with a row for each leaf: a bare diagonal is the leaf's, other members stay their own."""
    fixed = dict(one.each.fixed)
    measure = fixed.get("measure")
    if measure is None or measure in LEAF_MEASURES:
        return one
    if measure == "frame_diagonal" and "frame" not in words_of(one.each.heading or ""):
        fixed["measure"] = "leaf_diagonal"
        return replace(one, each=replace(one.each, fixed=tuple(fixed.items())), why=f"a leaf's: {one.why}")
    fixed.setdefault("member", "")
    return replace(one, each=replace(one.each, fixed=tuple(fixed.items())))


def _check(written: str, meaning: Meaning, evidence: Evidence) -> Proposed:
    fixed = [("check", meaning.name)] + ([("member", meaning.place.member)] if meaning.place.member else [])
    why = f"names {meaning.name}; {evidence.told}"
    return Proposed("checks", Each(written, None, tuple(fixed)), "", why, meaning.sure, _not_understood(meaning))


def _reading(
    written: str, meaning: Meaning, evidence: Evidence, catalogue: Catalogue, leaves: float | None
) -> Proposed:
    unit, how, doubt = unit_of(meaning.name, meaning.unit, evidence, catalogue, leaves)
    place = meaning.place
    names = {"measure": meaning.name, "member": place.member, "station": place.station}
    fixed = tuple((name, text) for name, text in names.items() if text)
    if place.position_mm:
        fixed += (("position_mm", place.position_mm),)
    each = Each(written, None, (*fixed, ("unit", unit)), place.share)
    doubt = doubt or _not_understood(meaning)
    why = f"names {meaning.name.replace('_', ' ')}; {evidence.told}, {how}"
    if place.station in ("rising", "falling") and words_of(written)[-1] in ("1", "2"):
        why += f"; taken as the {place.station} one, their difference is what counts"
    return Proposed("readings", each, place.along, why, 0.0 if doubt else meaning.sure, doubt)


def unit_of(
    name: str, written: str | None, evidence: Evidence, catalogue: Catalogue, leaves: float | None
) -> tuple[str, str, str]:
    """(unit, how it was found, why it is not sure) of a column of readings or sizes."""
    own = next((row.unit for row in catalogue.measures if row.name == name), "kg" if name.endswith("_kg") else "mm")
    if written is not None:
        return written, f"{written} by its heading", ""
    if len(evidence.units) == 1 and evidence.units[0] in ("mm", "cm", "m", "in", "kg"):
        return evidence.units[0], f"{evidence.units[0]} by its cells", ""
    if len(evidence.units) > 1 or (
        evidence.filled and not evidence.values and not evidence.fractions and name in USUAL
    ):
        return own, "", "its cells do not agree on one unit; say unit ="
    if evidence.fractions >= 0.3 and own == "mm":
        return "in", "inches by their fractions", ""
    fitting = units_that_fit(name, evidence, leaves)
    if own in fitting or (not fitting and _is_free(name, own, evidence, catalogue)):
        others = [unit for unit in fitting if unit != own]
        if others and name.endswith("_mm"):
            return own, "", f"its numbers fit {own} and {others[0]}; say unit ="
        return own, f"{own} by their size" if fitting else f"taken as {own}", ""
    if len(fitting) == 1:
        return fitting[0], f"{fitting[0]} by their size", ""
    told = " and ".join(fitting) if fitting else f"no unit that {name} usually has"
    return own, "", f"its numbers fit {told}; say unit ="


def _is_free(name: str, own: str, evidence: Evidence, catalogue: Catalogue) -> bool:
    """Whether nothing is usual for the name, and its numbers are plausible in the unit the trade writes."""
    if not evidence.values:
        return True
    return name not in USUAL and is_plausible(name, own, evidence, catalogue)


def _not_understood(meaning: Meaning) -> str:
    if meaning.rival:
        return f"it may be {meaning.name} or {meaning.rival}"
    if meaning.sure >= SURE:
        return ""
    return f"'{' '.join(meaning.place.left)}' in it is not understood"

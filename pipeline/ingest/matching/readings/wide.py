"""Proposes what each column of readings or ticks is: one entry of `each` for every heading that means one."""

import re
from dataclasses import replace
from statistics import median

from pipeline.catalogue import Catalogue
from pipeline.ingest.declared.mapping import Each
from pipeline.ingest.matching.columns.beside import units_beside
from pipeline.ingest.matching.columns.evidence import USUAL, Evidence, has_inches, is_plausible, units_that_fit
from pipeline.ingest.matching.columns.layout import Layout
from pipeline.ingest.matching.columns.proposed import BY_SIZE, FITS, MAY_BE_POUNDS, TAKEN, Proposed
from pipeline.ingest.matching.readings.bare_distances import in_their_unit
from pipeline.ingest.matching.readings.bare_levels import sills_level
from pipeline.ingest.matching.readings.explained import by_notes
from pipeline.ingest.matching.readings.head_heights import clear_under_head, too_high_for_doors
from pipeline.ingest.matching.readings.heading_key import by_key, ends_of_parts
from pipeline.ingest.matching.readings.inches_at_end import with_inches, with_their_like
from pipeline.ingest.matching.readings.middles import middles
from pipeline.ingest.matching.readings.planes import planes_by_notes
from pipeline.ingest.matching.readings.titled_units import as_the_title_says
from pipeline.ingest.matching.sheet.headings import without_number
from pipeline.ingest.matching.words.meaning import SURE, Meaning, check_meaning, of_ticks, reading_meaning
from pipeline.ingest.matching.words.places import (
    ALONG_SILL,
    LEAF_CHECKS,
    LEAF_GAPS,
    LEAF_MEASURES,
    MEMBER_MEASURES,
    SPREAD,
)
from pipeline.ingest.matching.words.signs import turned_by_notes, without_sign
from pipeline.ingest.matching.words.vocabulary import words_of
from pipeline.ingest.records import READINGS
from pipeline.ingest.texts.not_said import NOTHING
from pipeline.ingest.texts.numbers import says_within

# A column counts as one of ticks, or of numbers, from these shares on.
_TICKS, _NUMBERS = 0.5, 0.3
_FEWEST_TO_POOL = 2
# Where more than this share of its cells name no unit, a few that do in inches do not speak for them.
_MOST_BARE = 0.5
# What a spring balance shows of a force; and in °C no door was fitted in such heat.
_AS_FORCE = {"kg": "kgf", "lb": "lbf"}
_HOTTEST = 45.0
# Headings of numbers that count parts of an inch.
_PARTS_OF_AN_INCH = re.compile(
    r"\b1/(?:8|16|32|64)\b|\b(?:8|16|32|64)ths\b|\b(?:eighths|sixteenths|thou)\b", re.IGNORECASE
)
_EXPLAINED, _CODED = "a note of the sheet explains its letters", "a key explains its code"
_IN_WORDS = "a note of the sheet explains its words"
_MIDDLE = "its M is the middle, as its like and its numbers say"
_CLEAR = "a height of the head, near that of a door: taken as clear under it"
_OF_THE_SILL = "no member said, and the sill is spoken of beside or over it"


def propose_each(layout: Layout, catalogue: Catalogue, leaves: float | None) -> dict[str, Proposed]:
    """By folded heading, what every column that names a reading or a check is, sure or not."""
    found = {}
    units = units_beside(layout)
    of_units, in_full = set(units.values()), _in_full(layout)
    for heading, evidence in layout.evidence.items():
        if heading in of_units:
            continue
        beside = units.get(heading)
        text, why = in_full.get(heading, (layout.said(heading), ""))
        one = propose_one(text, evidence, catalogue, leaves, "mm" if beside else None)
        if one is not None and why:
            one = replace(one, why=f"{one.why}; {why}")
        if one is not None and beside and one.record == READINGS.name:
            one = _with_units_beside(one, layout.written(beside))
        if one is not None and (at := layout.positions.get(heading)):
            one = replace(one, each=replace(one.each, position_heading=at), why=f"{one.why}; its distance over it")
        if one is not None:
            one = replace(one, each=replace(one.each, heading=layout.written(heading)))
            found[heading] = _in_doubt_if_bare(one, layout.lowest(heading))
    found = with_their_like(found, layout.evidence)
    found = too_high_for_doors(_in_one_unit(found, layout), layout)
    entries = signed_by_notes(spread_evenly(in_their_unit(list(found.values()))), layout.notes)
    return dict(zip(found, entries, strict=True))


def signed_by_notes(entries: list[Proposed], notes: list[str]) -> list[Proposed]:
    """The entries; those whose heading does not say which way is plus count as notes of the sheet say."""
    turned = turned_by_notes(notes)
    made = []
    for one in entries:
        note = turned.get(dict(one.each.fixed).get("measure", ""))
        if note and not without_sign(one.each.heading or one.each.item or "")[1]:
            one = replace(one, each=replace(one.each, is_turned=True), why=f"{one.why}; the sheet says '{note}'")
        made.append(one)
    return made


def _in_doubt_if_bare(one: Proposed, heading: str) -> Proposed:
    """The entry; a bare Sill or Threshold without a place may as well be a gap there."""
    fixed = dict(one.each.fixed)
    has_place = (
        bool(fixed.keys() & {"station", "position_mm"}) or one.each.share is not None or one.each.position_heading
    )
    is_bare = fixed.get("measure") == "sill_height" and len(words_of(heading)) == 1 and not has_place
    return replace(one, sure=0.0, doubt="it does not say what was read there, nor where") if is_bare else one


def _in_full(layout: Layout) -> dict[str, tuple[str, str]]:
    """By heading (folded) that leaves something to the sheet: what it says in full, and what is told of it."""
    found = {heading: (text, "") for heading, text in ends_of_parts(layout).items()}
    found |= {heading: (layout.said(heading), _CODED) for heading in layout.evidence if layout.is_coded(heading)}
    found |= {heading: (text, _MIDDLE) for heading, text in middles(layout).items()}
    found |= {heading: (text, _CLEAR) for heading, text in clear_under_head(layout).items()}
    found |= {heading: (text, _IN_WORDS) for heading, text in by_notes(layout).items()}
    found |= {heading: (text, _EXPLAINED) for heading, text in by_key(layout).items()}
    found |= {heading: (text, "a note says which way is plus") for heading, text in planes_by_notes(layout).items()}
    return found | {heading: (text, _OF_THE_SILL) for heading, text in sills_level(layout).items()}


def _in_one_unit(found: dict[str, Proposed], layout: Layout) -> dict[str, Proposed]:
    """The entries; a unit told by the size of numbers must fit all columns of the measure, not only the one."""
    groups: dict[str, list[str]] = {}
    for heading, one in found.items():
        if one.how.endswith(BY_SIZE) or one.doubt.startswith(FITS):
            groups.setdefault(dict(one.each.fixed)["measure"], []).append(heading)
    made = _as_their_like(_forces_beside_inches(as_the_title_says(found, layout), layout), layout)
    for measure, headings in groups.items():
        if len(headings) < _FEWEST_TO_POOL:
            continue
        values = tuple(value for heading in headings for value in layout.evidence[heading].values)
        fitting = units_that_fit(measure, replace(layout.evidence[headings[0]], values=values))
        units = {dict(found[heading].each.fixed)["unit"] for heading in headings if not found[heading].doubt}
        is_doubtful = len(units) > 1 or not units <= set(fitting)
        for heading in headings if is_doubtful else ():
            told = " and ".join(fitting) or "no unit"
            made[heading] = replace(found[heading], sure=0.0, doubt=f"{FITS} {told}, those of its like together")
    return made


def _forces_beside_inches(found: dict[str, Proposed], layout: Layout) -> dict[str, Proposed]:
    """The entries; of forces that name no unit, those in a sheet of inches may be in pounds."""
    if not has_inches(layout.evidence):
        return found
    bare = {heading for heading, one in found.items() if one.how == f"{TAKEN.removesuffix('mm')}N"}
    return {
        heading: replace(one, sure=0.0, doubt=MAY_BE_POUNDS) if heading in bare else one
        for heading, one in found.items()
    }


def _as_their_like(found: dict[str, Proposed], layout: Layout) -> dict[str, Proposed]:
    """The entries; bare numbers taken for mm are in doubt where columns of their measure beside them are in inches."""
    in_inches = {
        dict(one.each.fixed)["measure"]
        for one in found.values()
        if dict(one.each.fixed).get("unit") == "in" and one.sure >= SURE
    }
    made = dict(found)
    for heading, one in found.items():
        is_taken = one.how == TAKEN and dict(one.each.fixed).get("measure") in in_inches
        if is_taken and any(layout.evidence[heading].values):
            made[heading] = replace(one, sure=0.0, doubt="columns of its like are in inches; say unit =")
    return made


def _with_units_beside(one: Proposed, heading: str) -> Proposed:
    fixed = tuple(pair for pair in one.each.fixed if pair[0] != "unit")
    beside = "its unit beside it"
    why = one.why.replace(f", {one.how}", f", {beside}")
    return replace(one, each=replace(one.each, fixed=fixed, unit_heading=heading), why=why, how=beside)


def spread_evenly(entries: list[Proposed]) -> list[Proposed]:
    """The entries; stations along the width that are numbered 1, 2, 3 stand evenly from the left end to the right."""
    groups: dict[tuple[str, str], list[int]] = {}
    for place, one in enumerate(entries):
        fixed = dict(one.each.fixed)
        if fixed.get("measure") in ALONG_SILL and fixed.get("station", "").isdecimal():
            groups.setdefault((fixed["measure"], fixed.get("member", "")), []).append(place)
    made = list(entries)
    for places in groups.values():
        numbers = [int(dict(entries[place].each.fixed)["station"]) for place in places]
        if len(numbers) > 1 and sorted(numbers) == list(range(1, len(numbers) + 1)):
            for place, number in zip(places, numbers, strict=True):
                made[place] = _at_share(entries[place], (number - 1) / (len(numbers) - 1))
    return made


def _at_share(one: Proposed, share: float) -> Proposed:
    why = f"{one.why}; taken as spread evenly from the left, so at {share:.0%} of the width: correct it where it is not"
    return replace(one, each=replace(one.each, share=share), along="width", why=why)


def propose_one(
    written: str, evidence: Evidence, catalogue: Catalogue, leaves: float | None, unit: str | None = None
) -> Proposed | None:
    """What a heading with such contents is; None where it names neither a reading nor a check.

    unit  where another heading says it
    """
    text = without_number(written)
    reading, check = reading_meaning(text), check_meaning(text)
    if reading is not None and check is not None and SURE <= reading.sure > check.sure and reading.place.station:
        # a tick at the lock's end of a leaf says that this gap was well
        check = None
    is_ticked = evidence.ticks >= _TICKS and evidence.ticks > evidence.numbers
    # single letters and strokes are marks where the heading names a check, and nothing else stands there
    is_ticked = is_ticked or (check is not None and evidence.marks == 1.0 and evidence.numbers < _TICKS)
    if check is not None and is_ticked:
        check = of_ticks(check)
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
        return replace(_with_fixed(one, fixed | {"measure": "leaf_diagonal"}), why=f"a leaf's: {one.why}")
    return _with_fixed(one, fixed | {"member": fixed.get("member", "")})


def of_member_row(one: Proposed) -> Proposed:
    """The entry in a sheet with a row for each member of the frame: what is of no member of it stays its own."""
    fixed = dict(one.each.fixed)
    if fixed.get("measure") in MEMBER_MEASURES:
        return one
    return _with_fixed(one, fixed | {"member": fixed.get("member", "")})


def _with_fixed(one: Proposed, fixed: dict[str, str]) -> Proposed:
    return replace(one, each=replace(one.each, fixed=tuple(fixed.items())))


def needs_member(one: Proposed) -> bool:
    """Whether nothing says along which member a distance was taken."""
    fixed = dict(one.each.fixed)
    return fixed.get("measure") in ("fixing", "packer") and "member" not in fixed


def is_of_a_leaf(one: Proposed) -> bool:
    """Whether a reading or check is one that each leaf has, and does not say its leaf."""
    fixed = dict(one.each.fixed)
    is_each = fixed.get("measure") in LEAF_MEASURES or fixed.get("check") in LEAF_CHECKS
    return is_each and "member" not in fixed


def needs_leaf(one: Proposed) -> bool:
    """Whether a gap says neither its leaf nor the end of it."""
    fixed = dict(one.each.fixed)
    return fixed.get("measure") in LEAF_GAPS and not {"member", "station"} & fixed.keys()


_NAMED = {"width": {0.0: "left", 0.5: "centre", 1.0: "right"}, "height": {0.0: "bottom", 0.5: "centre", 1.0: "top"}}


def named_by_share(one: Proposed) -> Proposed:
    """The entry with its station named after its share: the place is found once the door's size is known."""
    share, fixed = one.each.share, dict(one.each.fixed)
    if share is None or fixed.get("measure") not in SPREAD:
        return one
    fixed["station"] = _NAMED[one.along].get(share, f"{100 * share:.3g}%")
    return _with_fixed(one, fixed)


def _check(written: str, meaning: Meaning, evidence: Evidence) -> Proposed:
    fixed = [("check", meaning.name)] + ([("member", meaning.place.member)] if meaning.place.member else [])
    why = f"names {meaning.name}; {evidence.told}"
    return Proposed("checks", Each(written, None, tuple(fixed)), "", why, meaning.sure, _not_understood(meaning))


def _reading(
    written: str, meaning: Meaning, evidence: Evidence, catalogue: Catalogue, leaves: float | None
) -> Proposed:
    meaning, in_doubt = with_inches(written, meaning, evidence, leaves)
    unit, how, doubt = unit_of(meaning.name, meaning.unit, evidence, catalogue, leaves)
    doubt, bare = in_doubt or doubt, None
    if meaning.unit is None and unit in ("mm", "in") and (said := units_in_cells(meaning.name, evidence, leaves)):
        (unit, how, bare), doubt = said, ""
    place = meaning.place
    names = {"measure": meaning.name, "member": place.member, "station": place.station}
    fixed = tuple((name, text) for name, text in names.items() if text)
    if place.position_mm:
        fixed += (("position_mm", place.position_mm),)
    if _PARTS_OF_AN_INCH.search(written) and not evidence.fractions:
        doubt = "its numbers may count parts of an inch"
    has_minus = any(value < 0 for value in evidence.values) or not evidence.values
    is_turned = meaning.is_turned or (bool(meaning.dips) and not has_minus and bool(place.station))
    fixed += (("unit", unit),) if unit else ()
    each = Each(written, None, fixed, place.share, is_turned=is_turned, bare_unit=bare)
    doubt = doubt or _not_understood(meaning) or (f"'{meaning.dips}' in it" if meaning.dips and not is_turned else "")
    why = f"names {meaning.name.replace('_', ' ')}; {evidence.told}, {how}"
    why += "; plus is the other way in it" if is_turned else ""
    if place.station in ("rising", "falling") and words_of(written)[-1] in ("1", "2"):
        why += f"; taken as the {place.station} one, their difference is what counts"
    return Proposed("readings", each, place.along, why, 0.0 if doubt else meaning.sure, doubt, how)


def units_in_cells(name: str, evidence: Evidence, leaves: float | None) -> tuple[str, str, str | None] | None:
    """(unit of all cells, how it was found, unit of those that name none) of a length whose cells name units.

    None where none names one. The first is empty where cells are in several, and only then is there a last, which is
    "none" where two fit the rest.
    """
    named, bare = evidence.named, tuple(value for value in evidence.bare if value)
    n_metric = sum(n for unit, n in named.items() if unit not in ("in", "ft"))
    if not named or name in ("temperature", "running_force", "hinge_packers"):
        return None
    fitting = units_that_fit(name, replace(evidence, values=bare), leaves)
    (first, *others) = sorted(named)
    if not others and (not bare or first == "mm" or (first in fitting and "mm" not in fitting)):
        return first, f"{first} by its cells", None
    is_mm = n_metric >= 2 * named.get("in", 0) or len(bare) > _MOST_BARE * evidence.filled
    other = fitting[0] if len(fitting) == 1 else "mm" if is_mm and not (fitting and "mm" not in fitting) else "none"
    told = "cells that name none are set aside" if other == "none" and bare else f"{other} where they name none"
    return "", f"units by its cells, {told}" if bare else "units by its cells", other


def unit_of(
    name: str, written: str | None, evidence: Evidence, catalogue: Catalogue, leaves: float | None
) -> tuple[str, str, str]:
    """(unit, how it was found, why it is not sure) of a column of readings or sizes."""
    own = next((row.unit for row in catalogue.measures if row.name == name), "kg" if name.endswith("_kg") else "mm")
    if written in _AS_FORCE and own == "N":
        return _AS_FORCE[written], f"{written} by its heading, as a spring balance shows a force", ""
    if written == "%":
        return own, "", "percent is no unit that is read"
    if name == "temperature" and written is None and evidence.values and median(evidence.values) > _HOTTEST:
        return "°F", "°F by their size", ""
    if written is not None:
        return written, f"{written} by its heading", ""
    if len(evidence.units) == 1 and evidence.units[0] in ("mm", "cm", "m", "in", "kg"):
        return evidence.units[0], f"{evidence.units[0]} by its cells", ""
    bare = replace(evidence, values=evidence.bare)
    if 0 < len(bare.values) < len(evidence.values) and units_that_fit(name, bare) == [own]:
        return own, f"{own} where its cells name no other", ""
    if own == "mm" and len(evidence.named) > 1 and sum(evidence.named.values()) == evidence.filled:
        return own, "units by its cells", ""
    if evidence.filled and all(says_within(text) or text in NOTHING for text in evidence.texts):
        return own, f"{own}, as its cells only say that all was well", ""
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
            return own, "", f"{FITS} {own} and {others[0]}; say unit ="
        return own, f"{own} {BY_SIZE}" if fitting else f"taken as {own}", ""
    if len(fitting) == 1:
        return fitting[0], f"{fitting[0]} {BY_SIZE}", ""
    told = " and ".join(fitting) if fitting else f"no unit that {name} usually has"
    return own, "", f"{FITS} {told}; say unit ="


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

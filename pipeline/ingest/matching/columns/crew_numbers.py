"""Crews that one table numbers and names, and others know by their number alone, as tables of a database do."""

from dataclasses import replace

from pipeline.ingest.declared.mapping import folded
from pipeline.ingest.judging.cells import typed_number
from pipeline.ingest.matching.columns.elimination import NAMES_A_CREW, SAYS_A_CREW
from pipeline.ingest.matching.columns.layout import Layout
from pipeline.ingest.matching.columns.placed import Assignment, Placed
from pipeline.ingest.matching.columns.proposal import Proposal
from pipeline.ingest.matching.words.meaning import SURE, likeness_under
from pipeline.ingest.matching.words.vocabulary import words_of
from pipeline.ingest.records import CREW_NO, CREWS, INSTALLS
from pipeline.ingest.texts.words import without_decimals

# From this share of a column's cells on that other tables write for a crew, it holds the crews' numbers.
_ARE_CREWS = 0.5
_NUMBERS = 0.5
# What a list of crews may seem to say of doors: its numbers, its names, the day of joining.
_OF_A_CREW = {"install_id", "job_no", "crew", "fitted_on"}
_NAMED = "other tables name the crews so"
_WHY = "each other tables write in place of the name"


def with_numbers(layout: Layout, assigned: Assignment) -> Assignment:
    """The assignment of a list of crews, with the column that numbers them where other tables use these numbers.

    Without such a table none is taken: a column that counts the lines numbers no crews.
    """
    placed = {name: one for name, one in assigned.placed.items() if name != CREW_NO}
    faint = tuple(one for one in assigned.faint if one.column != CREW_NO)
    others = {one.heading for name, one in placed.items() if name != "crew"}
    numbers = [heading for heading in layout.evidence if heading not in others and _are_known(layout, heading)]
    if len(numbers) == 1 and _are_names(layout, numbers[0]):
        place = layout.heads.places[numbers[0]]
        return Assignment(placed | {"crew": Placed(numbers[0], CREWS.name, "crew", SURE, _NAMED, place=place)}, faint)
    if len(numbers) == 1 and (name := _name(layout, numbers[0], placed)) is not None:
        place = layout.heads.places[numbers[0]]
        placed |= {"crew": name, CREW_NO: Placed(numbers[0], CREWS.name, CREW_NO, SURE, _WHY, place=place)}
    return Assignment(placed, faint)


def lists_crews(proposal: Proposal) -> bool:
    """Whether what reads as a list of doors says nothing of any, and names each crew of other tables once."""
    doors = proposal.columns.get(INSTALLS.name, {})
    crew = doors["crew"].heading if "crew" in doors else None
    if crew is None or not doors.keys() <= _OF_A_CREW or proposal.each:
        return False
    texts = [text.casefold() for text in proposal.layout.cells.texts(folded(crew))]
    return len(texts) > 1 and len(set(texts)) == len(texts) and set(texts) <= proposal.layout.known.crews


def _are_known(layout: Layout, heading: str) -> bool:
    """Whether every row has another number there, and other tables write most of them for a crew."""
    evidence = layout.evidence[heading]
    texts = {without_decimals(typed_number(text)).casefold() for text in layout.cells.texts(heading)}
    is_numbering = evidence.distinct == evidence.filled > 1 and not evidence.blank
    has_digits = all(any(map(str.isdecimal, text)) for text in texts)
    return is_numbering and has_digits and len(texts & layout.known.crews) >= _ARE_CREWS * len(texts)


def _are_names(layout: Layout, heading: str) -> bool:
    """Whether a column headed Crew names the crews, as other tables do: Crew 1, Van 2, or 1 beside its members."""
    if likeness_under(CREWS.name, "crew", layout.said(heading)) < SAYS_A_CREW:
        return False
    has_members = any("members" in words_of(layout.lowest(one)) for one in layout.evidence if one != heading)
    return has_members or all(map(NAMES_A_CREW.search, layout.evidence[heading].texts))


def _name(layout: Layout, number: str, placed: dict[str, Placed]) -> Placed | None:
    """The column that names the crews: the one that was placed, else the likeliest that is not their number."""
    had = placed.get("crew")
    if had is not None and had.heading != number:
        return had
    others = [one for one in layout.evidence if one != number and layout.evidence[one].numbers < _NUMBERS]
    sure = {one: likeness_under(CREWS.name, "crew", layout.said(one)) for one in others}
    best = max(sure, key=lambda one: sure[one], default=None)
    if best is None or sure[best] < SURE or layout.evidence[best].are_days:
        return None
    told = Placed(best, CREWS.name, "crew", sure[best], f"reads as crew; {layout.evidence[best].told}")
    return replace(told, place=layout.heads.places[best])

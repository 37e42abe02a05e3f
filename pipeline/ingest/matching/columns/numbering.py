"""What a column of numbers numbers: doors, jobs, callbacks or only the lines of its sheet."""

from pipeline.ingest.matching.columns.evidence import Evidence
from pipeline.ingest.matching.columns.known import Known
from pipeline.ingest.matching.columns.layout import Layout
from pipeline.ingest.matching.words.contents import is_by_contents
from pipeline.ingest.matching.words.heading_units import unit_named
from pipeline.ingest.matching.words.meaning import SURE, column_likeness
from pipeline.ingest.matching.words.vocabulary import words_in, words_of
from pipeline.ingest.records import CALLBACKS, INSTALLS, NUMBERS_OF, Record

# So many different numbers, of so many characters, are no counts that happen to be those of doors.
_MANY, _LONG_NUMBER = 4, 3
# What a column that counts the lines may be called.
_OF_A_LINE = frozenset({"number", "line", "row", "item", "serial", "s", "position"})
# Rows that a word for a kind of door has, on average.
_ROWS_OF_A_KIND = 5
# Fewer words than rows by so much come again: one that stands twice may be a slip.
_ROWS_OF_SOME = 1.3
# What such a column may be called.
_THE_DOOR = frozenset({"door", "doors", "doorset", "bifold", "type", "unit", "set"})
# Words that say where in a house a door is, in one spelling each.
_WHERE = frozenset({
    "front", "rear", "back", "side", "left", "right", "centre", "kitchen", "lounge", "dining", "living", "room",
    "bedroom", "bathroom", "garden", "patio", "garage", "utility", "study", "hall", "extension", "conservatory",
    "ground", "first", "floor", "upstairs", "downstairs", "north", "south", "east", "west", "balcony", "terrace",
    "annexe", "porch", "external", "internal", "inside", "outside", "main", "top", "bottom", "house", "flat", "block",
    "plot",
})  # fmt: skip
# A number of its own stands in hardly any two rows.
_MOSTLY_ONCE = 0.95
# In a list of doors a number may slip in twice; those doors are set aside.
NEARLY_ONCE = 0.9
# How sure a column is whose heading says nothing and whose cells are the doors' numbers as people write them.
_ALIKE = 0.8


def as_number_of(
    record: Record, column: str, text: str, likeness: float, given: tuple[Evidence, Known]
) -> tuple[float, str]:
    """(likeness, what is told) of a column, where it holds numbers borne out or not by the doors and jobs known."""
    evidence, known = given
    if column not in NUMBERS_OF:
        return likeness, evidence.told
    is_said = likeness_of_a_number(text) >= SURE
    if not is_said and not (_tells_numbers(evidence) and known.knows(evidence.texts)):
        is_alike = record is CALLBACKS and column == "job_no" and known.are_written_like_doors(evidence.texts)
        if is_alike and _tells_numbers(evidence):
            return _ALIKE, f"its cells are numbers of doors in another sheet, written in several ways; {evidence.told}"
        return likeness, evidence.told
    kind = "install_id" if known.are_doors(evidence.texts) else "job_no" if known.are_jobs(evidence.texts) else None
    if record is CALLBACKS and column != "install_id" and _is_their_own(text, evidence, known):
        sure = 0.95 if column == CALLBACKS.key[0] else 0.75 * likeness
        return sure, f"it numbers no job of another sheet; {evidence.told}"
    if kind == column:
        return 1.0, f"its cells are numbers of {'doors' if kind == 'install_id' else 'jobs'} in another sheet"
    if kind is not None:
        return 0.3 * likeness, evidence.told
    once = _MOSTLY_ONCE if _is_bare(text) else NEARLY_ONCE
    if column == CALLBACKS.key[0] and evidence.distinct < once * evidence.filled:
        # what comes again and again numbers no callback, whatever it is called
        return 0.5 * likeness, evidence.told
    return likeness, evidence.told


def _tells_numbers(evidence: Evidence) -> bool:
    """Whether a column's texts are many and long enough to be known again as numbers of doors, not as counts."""
    return evidence.distinct >= _MANY and all(len(text) >= _LONG_NUMBER for text in evidence.texts)


def likeness_of_a_number(text: str) -> float:
    """How much a heading is one of the ways to write a number of doors, jobs or callbacks."""
    return max(column_likeness(CALLBACKS.name, name, text) for name in NUMBERS_OF)


def names_kinds(layout: Layout, heading: str) -> bool:
    """Whether a column called the doors' holds words for kinds of them, beside numbers of doors or jobs, one a row.

    A few words that come again and again are kinds beside any number; where some only come again, beside a number that
    says that it is the door's or the job's.
    """
    evidence = layout.evidence[heading]
    if is_by_contents(INSTALLS.name, "material", evidence.texts):
        # what a door is made of never numbers it, whatever else there is
        return True
    comes_again = evidence.distinct * _ROWS_OF_SOME <= evidence.filled
    if not comes_again or any(letter.isdigit() for text in evidence.texts for letter in text):
        return False
    if any(map(unit_named, evidence.texts)):
        # a unit is one of measure here, and no door
        return False
    is_of_few = evidence.distinct * _ROWS_OF_A_KIND <= evidence.filled
    others = (layout.lowest(one) for one, found in layout.evidence.items() if _is_once_each(found, evidence))
    return any(likeness_of_a_number(one) >= SURE and (is_of_few or not _is_bare(one)) for one in others)


def _is_once_each(found: Evidence, beside: Evidence) -> bool:
    """Whether another column has another text in every row that one has a text in; a number may slip in twice."""
    return found is not beside and found.distinct >= NEARLY_ONCE * found.filled and found.filled >= beside.filled


def names_products(layout: Layout, heading: str) -> bool:
    """Whether a column called the doors', and no more, names kinds that are products: none is a room or a side."""
    if set(words_of(layout.lowest(heading))) - _THE_DOOR or not names_kinds(layout, heading):
        return False
    return not words_in(layout.evidence[heading].texts) & _WHERE


def _is_their_own(text: str, evidence: Evidence, known: Known) -> bool:
    """Whether a column named as that of the jobs numbers the callbacks: never twice, no job that is known."""
    is_once = evidence.distinct == evidence.filled > 1
    is_named = column_likeness(CALLBACKS.name, "job_no", text) >= SURE
    return is_once and is_named and bool(known.jobs or known.doors) and not evidence.texts & (known.jobs | known.doors)


def _is_bare(text: str) -> bool:
    """Whether a heading says that it is a number, and not of what."""
    return set(words_of(text)) <= {"reference", "number", "id"}


def counts_lines(layout: Layout, heading: str) -> bool:
    """Whether a column counts the lines from 1: next month's sheet begins at 1 again, with other doors."""
    evidence = layout.evidence[heading]
    is_counted = evidence.values == tuple(range(1, evidence.filled + 1))
    return evidence.filled > 1 and is_counted and set(words_of(layout.lowest(heading))) <= _OF_A_LINE

"""Finds what lines of text between the rows say of the rows under them: their crew, their door, the kind of work.

Labels say it themselves (Team: North). A name alone is a crew only where something says so: its words (Team North), a
title (register by fitter), or that it is a crew in another sheet. How such lists look is common practice, no source.
"""

from dataclasses import replace
from itertools import takewhile

from pipeline.ingest.declared.mapping import folded
from pipeline.ingest.matching.columns.borne_out import bears_out
from pipeline.ingest.matching.columns.elimination import NAMES_A_CREW, NO_CREW
from pipeline.ingest.matching.columns.evidence import Evidence, look_at
from pipeline.ingest.matching.columns.layout import Layout
from pipeline.ingest.matching.columns.placed import LABEL_SURE, Assignment, Placed
from pipeline.ingest.matching.sheet.lines import after
from pipeline.ingest.matching.words.contents import is_by_contents, is_leaf
from pipeline.ingest.matching.words.meaning import SURE, column_likeness
from pipeline.ingest.matching.words.vocabulary import composed, words_in
from pipeline.ingest.records import INSTALLS, READINGS, Column

_OVER = "stands in a line over the rows"
# Of the rows, so many may have no line with a label over them.
_MOST_BLANK = 0.5
_NUMBERS = ("install_id", "job_no")


def with_lines(layout: Layout, facts: Assignment) -> Assignment:
    """The assignment of a door's facts, those that no column says taken from lines between the rows."""
    if not layout.cells.height or not layout.cells.lines:
        return facts
    placed = dict(facts.placed)
    for label in layout.cells.labels_of_lines():
        for column in INSTALLS.columns:
            if column.name not in placed and column_likeness(INSTALLS.name, column.name, label) >= LABEL_SURE:
                placed |= _if_borne_out(layout, column, label)
    if (found := _of_names(layout, placed)) is not None:
        placed[found.column] = found
    if "install_id" not in placed and "job_no" in placed and placed["job_no"].is_line:
        texts = _evidence(layout, placed["job_no"].heading, INSTALLS.column("job_no")).texts
        if layout.known.are_doors(texts) or not layout.known.doors:
            placed["install_id"] = replace(placed["job_no"], column="install_id")
    return Assignment(placed, facts.faint)


def leaf_over_rows(layout: Layout) -> Placed | None:
    """The leaf of every row, where names alone in lines over the rows are those of leaves."""
    if not layout.cells.height or not layout.cells.lines:
        return None
    evidence = look_at(list(layout.cells.over(None, READINGS.column("member"))))
    if evidence.blank or not evidence.texts or not all(map(is_leaf, evidence.texts)):
        return None
    return Placed("", READINGS.name, "member", SURE, f"names a leaf; {_OVER}", is_line=True)


def _if_borne_out(layout: Layout, column: Column, label: str) -> dict[str, Placed]:
    evidence = _evidence(layout, label, column)
    if evidence.blank > _MOST_BLANK or not bears_out(INSTALLS, column, evidence):
        return {}
    return {column.name: _placed(label, column.name, f"'{label}: '")}


def _placed(label: str, column: str, said: str) -> Placed:
    why = f"reads as {column.replace('_', ' ')}; {_OVER}: {said.strip()}"
    return Placed(label, INSTALLS.name, column, SURE, why, is_line=True)


def _evidence(layout: Layout, label: str, column: Column) -> Evidence:
    return look_at(list(layout.cells.over(folded(label) or None, column)))


def _of_names(layout: Layout, placed: dict[str, Placed]) -> Placed | None:
    """What names alone in their lines are; None where nothing says it, or not every row has one over it."""
    evidence = _evidence(layout, "", INSTALLS.column("crew"))
    names = evidence.texts
    if "install_id" not in placed and (found := _door(layout)) is not None:
        return found
    if not names or evidence.blank:
        return None
    if "crew" not in placed and _are_crews(layout, names):
        return _placed("", "crew", "a name for several rows")
    for column in ("work", "material"):
        if column not in placed and is_by_contents(INSTALLS.name, column, names):
            return _placed("", column, "a word for several rows")
    return None


def _are_crews(layout: Layout, names: frozenset[str]) -> bool:
    """Whether names are those of crews, by their words, a title, or the crews of other sheets."""
    if any(NO_CREW.search(name) for name in names):
        return False
    return all(map(NAMES_A_CREW.search, names)) or names <= layout.known.crews or _is_by_crew(layout)


def _is_by_crew(layout: Layout) -> bool:
    """Whether a title over the header, or the name of the sheet, says that the list goes by crews."""
    return bool(words_in(layout.titles) & composed("crew")[0])


def _door(layout: Layout) -> Placed | None:
    """The door that each name is: Door D-101, or a number that other sheets know."""
    evidence = _evidence(layout, "", INSTALLS.column("install_id"))
    names = evidence.texts
    if not names or evidence.blank:
        return None
    if layout.known.are_doors(names):
        return _placed("", "install_id", "numbers of doors in other sheets")
    words = zip(*(name.split()[:-1] for name in names), strict=False)
    label = " ".join(one[0] for one in takewhile(lambda one: len(set(one)) == 1, words))
    of_number = max((column_likeness(INSTALLS.name, name, label) for name in _NUMBERS), default=0.0) if label else 0.0
    numbers = [after(name, label) or "" for name in names]
    are_numbers = all(any(map(str.isdecimal, text)) and " " not in text for text in numbers)
    if len(names) < 2 or of_number < LABEL_SURE or not are_numbers:
        return None
    return _placed(label, "install_id", f"'{label}' and a number")

"""What the marks in the boxes of a check sheet mean, by all of them together: A beside R, C beside NC, a stroke.

Of a pair neither means anything alone. A mark that two readings fit is left out, and its cells are set aside. How check
sheets are filled in is common practice, no source.
"""

import re

from pipeline.catalogue import Catalogue
from pipeline.ingest.matching.words.crosses import known_marks, meaning_of_x
from pipeline.ingest.matching.words.mark_pairs import AMBER, LEFT_EMPTY, PAIRS, SHAPES, STROKES
from pipeline.ingest.matching.words.vocabulary import one_meaning, outcome_of
from pipeline.ingest.texts.not_said import NOTHING
from pipeline.ingest.texts.words import plain

_IN_MOST = 0.5
_TRUE, _FALSE = "true", "false"
# What a heading asks that FALSE denies, and what may stand beside it.
_ASKS = frozenset({
    "pass", "passed", "passes", "ok", "okay", "accepted", "acceptable", "compliant", "complies", "conforms",
    "satisfactory", "approved",
})  # fmt: skip
_ASKED_WITH = frozenset({"is", "was", "it", "check", "checked", "item", "point", "inspection", "result", "yes", "no"})
Meant = tuple[tuple[str, str], ...]


def meanings(
    columns: list[list[str]], catalogue: Catalogue, notes: list[str], asked: str = ""
) -> tuple[Meant, str] | None:
    """((mark, outcome) of the marks that need saying, why) for columns of checks; None where none does.

    notes  of the sheet, which may say what its marks mean; asked: the heading over the outcomes of a row for each check
    """
    cells = [text.casefold() for texts in columns for text in texts]
    marks = set(filter(None, cells))
    known = known_marks(catalogue)
    legend = _by_legend(marks, notes)
    pairs, why = _by_pair(marks - legend.keys(), known)
    told = pairs | {mark: word for mark, word in legend.items() if known.get(plain(mark)) != word}
    why += ["a note of the sheet says so"] if legend else []
    if _FALSE not in {*told, *legend, *known} and _denies(cells, asked):
        told, why = {**told, _FALSE: "fail"}, [*why, f"'{asked}' is answered by true and false"]
    said = meaning_of_x(columns, catalogue) if "x" not in {*told, *legend} else None
    if said is not None:
        told, why = {**told, "x": said[0]}, [*why, said[1]]
    for mark in sorted(marks - told.keys()):
        word = SHAPES.get(mark) or outcome_of(mark)
        if plain(mark) not in known and word and word != plain(mark):
            told[mark] = word
    for stroke in STROKES:
        if (
            stroke in marks - told.keys()
            and cells.count(stroke) >= _IN_MOST * len(cells)
            and marks - {stroke} <= NOTHING
        ):
            told[stroke], why = "pass", [*why, "a stroke is the only mark and stands in most boxes"]
    return (tuple(sorted(told.items())), "; ".join(why) or "the sheet's own words") if told else None


def _denies(cells: list[str], asked: str) -> bool:
    """Whether FALSE says that a check was not passed: its heading asks that of every row, and most rows say TRUE.

    Over a column for each check it may as well be a box that nobody ticked.
    """
    words = set(re.findall(r"[^\W\d_]+", asked.casefold()))
    marks = set(filter(None, cells)) - NOTHING
    is_asked = bool(words & _ASKS) and words <= _ASKS | _ASKED_WITH
    return is_asked and marks == {_TRUE, _FALSE} and cells.count(_TRUE) >= _IN_MOST * len(cells)


def _by_legend(marks: set[str], notes: list[str]) -> dict[str, str]:
    """The outcomes that notes give to marks: X = defect; none for a mark of which they say two things."""
    found: list[tuple[str, str]] = []
    for note in notes:
        for mark in marks:
            for said in re.findall(rf"(?<![^\s,;(|]){re.escape(mark)}\s*(?:=|:|means)\s*([^,;|.)=]+)", note.casefold()):
                words = said.split()
                # the next mark of the list may follow without a comma
                outcome = outcome_of(" ".join(words)) or outcome_of(" ".join(words[:-1]))
                found.append((mark, outcome or ""))
    return {mark: word for mark, word in one_meaning(found) if word}


def _by_pair(marks: set[str], known: dict[str, str]) -> tuple[dict[str, str], list[str]]:
    """The outcomes of a pair of which both marks are there, and no other but for what does not apply."""
    told: dict[str, str] = {}
    why: list[str] = []
    for well, ill in PAIRS:
        others = marks - {well, ill} - NOTHING - (AMBER if well == "g" else frozenset())
        are_other = all(known.get(plain(mark)) == "not_applicable" for mark in others)
        if {well, ill} <= marks and are_other and not {well, ill} & told.keys():
            told |= {well: "pass"} if ill in LEFT_EMPTY else {well: "pass", ill: "fail"}
            why.append(f"{well} beside {ill}")
    return {mark: word for mark, word in told.items() if known.get(plain(mark)) != word}, why

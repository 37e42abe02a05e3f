"""What an X in a box means, which may tick what is well or cross out what is not: by the other marks of the sheet.

Beside ticks it crosses out, beside crosses it ticks. As the only mark it ticks where it stands in most boxes: a sheet
on which most of what was looked at has failed is not kept. Elsewhere it is not said, and such cells are set aside. How
check sheets are filled in is common practice, no source.
"""

from pipeline.catalogue import Catalogue
from pipeline.ingest.texts.not_said import NOTHING
from pipeline.ingest.texts.words import plain

_X, _IN_MOST = "x", 0.5


def known_marks(catalogue: Catalogue) -> dict[str, str]:
    """What stands for an outcome by itself: the outcomes, and the spellings of the catalogue and the firm."""
    return {plain(text): word for text, word in catalogue.customs.words} | {
        word: word for word in catalogue.words["outcomes"]
    }


def meaning_of_x(columns: list[list[str]], catalogue: Catalogue) -> tuple[str, str] | None:
    """(pass or fail, why) of an X in columns of checks; None where none stands there or what it means is not said."""
    cells = [text.casefold() for texts in columns for text in texts]
    marks = set(filter(None, cells))
    if _X not in marks:
        return None
    meant = known_marks(catalogue)
    if _X in meant:
        # the firm says it in its settings
        return None
    said = {meant.get(plain(mark)) for mark in marks - {_X}}
    if {"pass", "fail"} <= said:
        return None
    if "pass" in said:
        return "fail", "an X beside ticks is a cross"
    if "fail" in said:
        return "pass", "an X beside crosses is a tick"
    if any(meant.get(plain(mark)) is None for mark in marks - {_X} - NOTHING):
        # beside a mark that is not known it may mean either: O and X
        return None
    share = cells.count(_X) / len(cells)
    return ("pass", f"an X is the only mark and stands in {share:.0%} of the boxes") if share >= _IN_MOST else None

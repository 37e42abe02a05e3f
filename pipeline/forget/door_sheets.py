"""Sheets of single doors that tell of a forgotten person: found to be taken away, since each can be drawn anew."""

import re
from collections.abc import Iterable
from html import unescape
from pathlib import Path

from pipeline.folders import DOORS, DOORS_WITH_PEOPLE, door_files
from pipeline.forget.texts import Texts
from pipeline.ingest.landing.erased_texts import is_telling, plain


def sheets_that_tell(out: Path, doors: Iterable[str], texts: Texts) -> list[str]:
    """Names of the files of sheets that may tell of the person, from the output folder on.

    doors  whose sheets with people on them go whatever they say, as the person may be written there in other words
    """
    everything = frozenset({*texts.telling, *(text for text in texts.others if is_telling(text))})
    sheets = {path for door in doors for path in door_files(out / DOORS_WITH_PEOPLE, door).values()}
    # without people on it, a sheet tells of a person only where their name stood in a wrong column
    for folder, telling in ((DOORS_WITH_PEOPLE, everything), (DOORS, texts.telling)):
        for page in (out / folder).glob("*.html"):
            if _holds(page, telling):
                sheets |= {page.with_suffix(ending) for ending in (".html", ".svg", ".png")}
    return sorted(path.relative_to(out).as_posix() for path in sheets if path.is_file())


def _holds(page: Path, texts: frozenset[str]) -> bool:
    said = re.sub(r"<[^>]+>", " ", page.read_text(encoding="utf-8", errors="replace"))
    words = f" {plain(unescape(said))} "
    return any(f" {text} " in words for text in texts)

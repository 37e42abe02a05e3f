"""Counts the comments on cells of a workbook: what people add there is never read, so it has to be told."""

import re
import zipfile
from pathlib import Path

from pipeline.ingest.files.workbook_size import BROKEN_ARCHIVE

# Comments have parts of their own, which programs that write workbooks number and place in more than one way
# (ECMA-376 Part 1, 12.3.3); an answer within a thread stands in its comment too.
_PART = re.compile(r"xl/(?:comments/)?comments?\d*\.xml", re.IGNORECASE)
_COMMENT = re.compile(rb"<(?:\w+:)?comment\s")


def comments_told(path: Path) -> tuple[str, ...]:
    """The one sentence that comments on cells are not read; none where there are none."""
    if not (n_comments := _comment_count(path)):
        return ()
    what = "the comment on a cell is" if n_comments == 1 else f"comments on {n_comments:,} cells are"
    return (f"{what} not read; what should count needs a cell of its own",)


def _comment_count(path: Path) -> int:
    """How many cells of a workbook have a comment; 0 for what cannot be read. Its size has been checked before."""
    try:
        with zipfile.ZipFile(path) as archive:
            parts = [name for name in archive.namelist() if _PART.fullmatch(name)]
            return sum(len(_COMMENT.findall(archive.read(name))) for name in parts)
    except (*BROKEN_ARCHIVE, OSError):
        return 0

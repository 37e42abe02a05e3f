"""Counts the comments on cells of a workbook: what people add there is never read, so it has to be told."""

import re
import zipfile

# Comments have parts of their own, which programs that write workbooks number and place in more than one way
# (ECMA-376 Part 1, 12.3.3); an answer within a thread stands in its comment too.
_PART = re.compile(r"xl/(?:comments/)?comments?\d*\.xml", re.IGNORECASE)
_COMMENT = re.compile(rb"<(?:\w+:)?comment\s")


def comments_told(archive: zipfile.ZipFile) -> tuple[str, ...]:
    """The one sentence that comments on cells are not read; none where there are none.

    archive  the workbook, whose size has been checked. Raises what reading a damaged one may (BROKEN_ARCHIVE, OSError).
    """
    parts = [name for name in archive.namelist() if _PART.fullmatch(name)]
    n_comments = sum(len(_COMMENT.findall(archive.read(name))) for name in parts)
    if not n_comments:
        return ()
    what = "the comment on a cell is" if n_comments == 1 else f"comments on {n_comments:,} cells are"
    return (f"{what} not read; what should count needs a cell of its own",)

"""What a terminal can show: how wide a line is, and whether it may have colours.

NO_COLOR and FORCE_COLOR, where they are not empty, go before what the stream is; both set, there is no colour.
"""

import math
import os
import re
import shutil
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any, TextIO

from pipeline.errors import visible

LEAST_WIDTH = 40
# What a line tells of, before its colon: set strong.
_LEAD = re.compile(r"^[A-Z][^:.;]{2,40}:(?= |$)")
_GAP = re.compile(r"(?<=\S) {2,}(?=\S)")
_STRONG, _PLAIN = "\x1b[1m", "\x1b[0m"


def line_width(stream: TextIO) -> int | None:
    """How many characters a line takes; None where the stream is no terminal and lines may be as long as they like."""
    return max(shutil.get_terminal_size().columns, LEAST_WIDTH) if stream.isatty() else None


def shows_colour(stream: TextIO) -> bool:
    """Whether colours are wanted there."""
    if os.environ.get("NO_COLOR"):
        return False
    if os.environ.get("FORCE_COLOR"):
        return True
    return stream.isatty() and os.environ.get("TERM") != "dumb"


def shown(sentences: Iterable[str], width: int | None, has_colour: bool = False) -> Iterator[str]:
    """The sentences as lines of a terminal; as they are where `width` is None."""
    for sentence in sentences:
        first, *rest = folded(visible(sentence), width)
        yield _LEAD.sub(lambda found: f"{_STRONG}{found[0]}{_PLAIN}", first, count=1) if has_colour else first
        yield from rest


def folded(line: str, width: int | None) -> list[str]:
    """The line over several, none longer than `width`, broken between words; what follows is set in."""
    if width is None or len(line) <= width:
        return [line]
    # under the last column of a line in columns, else two further in than it begins
    ends = [gap.end() for gap in _GAP.finditer(line) if gap.end() <= width // 2]
    inset = " " * (ends[-1] if ends else len(line) - len(line.lstrip()) + 2)
    # written out, as textwrap would make one blank of the several that set columns apart
    lines, rest = [], line
    while len(rest) > width and (at := rest.rfind(" ", len(inset) + 1, width + 1)) > 0:
        lines.append(rest[:at].rstrip())
        rest = inset + rest[at:].lstrip()
    return [*lines, rest]


def from_here(path: Path) -> Path:
    """The path as one would type it here, where it lies below the folder one is in or beside that."""
    here = Path.cwd()
    if path.is_relative_to(here):
        return path.relative_to(here)
    beside = here.parent
    is_beside = len(beside.parts) > 1 and path.is_relative_to(beside)  # from the root on a path is short enough
    return Path("..") / path.relative_to(beside) if is_beside else path


def finite(value: Any) -> Any:
    """The value for JSON, which knows neither infinity nor what is no number: null in their place."""
    if isinstance(value, dict):
        return {key: finite(part) for key, part in value.items()}
    if isinstance(value, list | tuple):
        return [finite(part) for part in value]
    return None if isinstance(value, float) and not math.isfinite(value) else value


def cut(line: str, width: int | None) -> str:
    """The line, ended with a sign where it is longer than `width`."""
    return line if width is None or len(line) <= width else f"{line[: width - 1]}…"

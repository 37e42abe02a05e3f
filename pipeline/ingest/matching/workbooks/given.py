"""The files given to be matched: which can be, and of each of the others why not, in one sentence."""

from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from pipeline.errors import UserError, as_sentence
from pipeline.ingest.declared.mapping import LOCK_MARK, MAPPED_FORMS
from pipeline.ingest.files.headers import CANNOT_OPEN, Unreadable
from pipeline.ingest.matching.sheet.grid import Grid
from pipeline.ingest.matching.sheet.grids import read_grids
from pipeline.settings import SETTINGS_FILE

# Characters of a CSV file that are looked at: its headings do not change further down.
_LOOKED_AT = 1 << 22
_MOST_TOLD = 6


@dataclass(frozen=True)
class NotMatched:
    """A file that nothing can be proposed for, and why, with what to do."""

    file: str
    why: str

    @property
    def sentence(self) -> str:
        """What to tell."""
        return as_sentence(f"{self.file} {self.why}")


@dataclass(frozen=True)
class Given:
    """folder: where all the files lie. files: those to open. others: what is no spreadsheet."""

    folder: Path
    files: tuple[Path, ...]
    others: tuple[NotMatched, ...]


def given_files(paths: list[Path]) -> Given:
    """Sorts out what was given by name; opens nothing. Files of our own beside the spreadsheets are passed over.

    Raises UserError where no spreadsheet is among them, or they lie in different folders.
    """
    paths = [path for path in paths if not path.name.startswith(SETTINGS_FILE)] or paths
    odd = {path: why for path in paths if (why := _why_not(path))}
    files = tuple(path for path in paths if path not in odd)
    others = tuple(NotMatched(path.name if path.is_file() else str(path), why) for path, why in odd.items())
    if not files:
        raise none_matched(others)
    folders = {path.resolve().parent for path in files}
    if len(folders) > 1:
        raise UserError(
            "The files lie in different folders; match one folder at a time, so that each gets its own "
            f"{SETTINGS_FILE}."
        )
    return Given(folders.pop(), files, others)


def none_matched(others: tuple[NotMatched, ...]) -> UserError:
    """The error where nothing given can be matched: a sentence for each file, the first ones of many."""
    more = f" None of {len(others) - _MOST_TOLD} more can be either." if len(others) > _MOST_TOLD else ""
    return UserError(" ".join(one.sentence for one in others[:_MOST_TOLD]) + more)


class Opened:
    """The sheets of files, as far as they are looked at: each file is read once, however often it is asked for."""

    def __init__(self) -> None:
        self._found: dict[Path, list[Grid] | Unreadable] = {}

    def grids_of(self, path: Path) -> list[Grid]:
        """The sheets of a file. Raises Unreadable where it cannot be opened or is empty."""
        if path not in self._found:
            try:
                self._found[path] = _read(path)
            except Unreadable as error:
                self._found[path] = error
        found = self._found[path]
        if isinstance(found, Unreadable):
            raise found
        return found

    def readable(self, paths: tuple[Path, ...]) -> Iterator[tuple[Path, list[Grid]]]:
        """The files that can be opened, one by one, with their sheets."""
        for path in paths:
            with suppress(Unreadable):
                yield path, self.grids_of(path)


def _read(path: Path) -> list[Grid]:
    try:
        grids = read_grids(path, _LOOKED_AT)
    except OSError:
        raise Unreadable(CANNOT_OPEN) from None
    if all(grid.first_filled is None for grid in grids):
        is_book = path.suffix.lower() == ".xlsx"
        where = "none of its visible sheets holds anything" if is_book else "the file is empty"
        raise Unreadable(f"{where}; save it again with its headings and rows")
    return grids


def _why_not(path: Path) -> str:
    """Why something given is no spreadsheet; empty where it is one by its name."""
    if path.is_dir():
        return f"is a folder; give the spreadsheets in it, such as {path}/*.xlsx"
    if not path.is_file():
        return "is not a file; give the spreadsheets to be matched"
    if path.name.startswith(LOCK_MARK):
        return "cannot be matched: it is only the mark of a workbook that is open elsewhere"
    if path.suffix.lower() not in MAPPED_FORMS:
        return "cannot be matched; save it as .xlsx, .csv or .jsonl"
    return ""

"""Puts rewritten files of an output folder in the place of the old ones together, so that a stop loses nothing.

All is written into a folder aside that mirrors the output. A journal then says that it is whole; from there on the
change is only ever completed, by this command or by the next one.
"""

import json
import os
import shutil
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from pipeline.errors import UserError

_ASIDE = ".rewritten"
_JOURNAL = ".rewritten.json"
_TRIES = 10
_WAIT_SECONDS = 0.2


@dataclass
class Rewriting:
    """folder: mirrors the output; its files take the place of those of the same name. gone: names to be removed."""

    folder: Path
    gone: list[str] = field(default_factory=list)


@contextmanager
def rewriting(out: Path) -> Iterator[Rewriting]:
    """What to fill; it is put in place when the block ends well, and cleared when it does not."""
    complete_rewriting(out)
    change = Rewriting(out / _ASIDE)
    change.folder.mkdir()
    try:
        yield change
        _write_journal(out, change)
    except BaseException:
        if not (out / _JOURNAL).is_file():
            shutil.rmtree(change.folder, ignore_errors=True)
        raise
    complete_rewriting(out)


def complete_rewriting(out: Path) -> None:
    """Completes a change that was stopped once whole, and clears one that was not. Safe to repeat at any point."""
    aside, journal = out / _ASIDE, out / _JOURNAL
    if journal.is_file():
        for file in sorted(path for path in aside.rglob("*") if path.is_file()):
            _place(file, out / file.relative_to(aside))
        for name in json.loads(journal.read_text(encoding="utf-8"))["gone"]:
            (out / name).unlink(missing_ok=True)
        journal.unlink()
    if aside.exists():
        patiently(lambda: shutil.rmtree(aside), aside)


def patiently(move: Callable[[], object], path: Path) -> None:
    """Tries a move again for a while: on some systems a file that is open elsewhere cannot be replaced.

    Raises UserError where it stays so.
    """
    for _ in range(_TRIES):
        try:
            move()
        except PermissionError:
            time.sleep(_WAIT_SECONDS)
        else:
            return
    raise UserError(f"{path} is open in another program; close it there and run again: the new results are ready.")


def _place(file: Path, target: Path) -> None:
    target.parent.mkdir(exist_ok=True)
    patiently(lambda: file.replace(target), target)


def _write_journal(out: Path, change: Rewriting) -> None:
    for path in change.folder.rglob("*"):
        if path.is_file():
            with path.open("rb+") as file:
                os.fsync(file.fileno())
    draft = out / f"{_JOURNAL}.draft"
    with draft.open("w", encoding="utf-8") as file:
        json.dump({"gone": change.gone}, file)
        file.flush()
        os.fsync(file.fileno())
    draft.replace(out / _JOURNAL)

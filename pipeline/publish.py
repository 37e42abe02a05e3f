"""Puts new results, tables and pages in place together, so that a run stopped at any moment loses nothing.

All is built aside in `.next/`. A journal then says that the build is whole; from there on the change is only ever
completed, by this run or by the next one. The results before stay as results.previous.duckdb.
"""

import ctypes
import json
import os
import shutil
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from pipeline.books import is_made_by_us, is_open_elsewhere, place_book
from pipeline.errors import UserError
from pipeline.rewriting import complete_rewriting, patiently

RESULTS = "results.duckdb"
PREVIOUS = "results.previous.duckdb"
FOLDERS = ("tables", "pages")
RUN_FILE = "run.txt"
BOOK = "fitback.xlsx"
BOOKS = (BOOK, *(f"fitback {number}.xlsx" for number in range(2, 100)))

_NEXT = ".next"
_JOURNAL = ".publish.json"


def prepare(out: Path) -> Path:
    """Completes what a stopped run left whole, clears what it left half done; returns an empty folder to build in.

    Raises UserError where a folder of the output's name is not fitback's own.
    """
    complete_rewriting(out)
    complete(out)
    for name in FOLDERS:
        if (out / name).exists() and not (out / name / RUN_FILE).is_file():
            raise UserError(f"{out / name} was not written by fitback; choose another output folder with --out.")
    _remove(out / _NEXT)
    (out / _NEXT).mkdir(parents=True)
    return out / _NEXT


@contextmanager
def built_aside(out: Path) -> Iterator[Path]:
    """The folder that `prepare` gives; cleared again when the build in it fails before its publishing began."""
    folder = prepare(out)
    try:
        yield folder
    except BaseException:
        if not (out / _JOURNAL).is_file():
            shutil.rmtree(folder, ignore_errors=True)
        raise


def publish(out: Path, run_id: str) -> None:
    """Puts in place what lies whole in the folder that `prepare` gave: results, tables, pages and workbook."""
    for name in FOLDERS:
        (out / _NEXT / name / RUN_FILE).write_text(run_id + "\n", encoding="utf-8")
    _write_journal(out, run_id)
    complete(out)


def complete(out: Path) -> bool:
    """Completes a change that a stopped run began; False where there is none. Safe to repeat at any point."""
    if not (out / _JOURNAL).is_file():
        return False
    run_id = json.loads((out / _JOURNAL).read_text(encoding="utf-8"))["run_id"]
    _place_results(out)
    for name in FOLDERS:
        _place_folder(out / _NEXT / name, out / name, run_id)
    _place_book(out)
    (out / _JOURNAL).unlink()
    _remove(out / _NEXT)
    return True


def book_in(out: Path) -> Path | None:
    """The workbook of the last results: the one put in place last; None where there is none."""
    found = [out / name for name in BOOKS if is_made_by_us(out / name)]
    return max(found, key=lambda path: path.stat().st_mtime_ns, default=None)


def is_published(out: Path) -> bool:
    """True where results are in place, or whole and on their way into it."""
    return (out / RESULTS).is_file() or (out / _JOURNAL).is_file()


def _write_journal(out: Path, run_id: str) -> None:
    draft = out / _NEXT / "publish.json"
    with draft.open("w", encoding="utf-8") as file:
        json.dump({"run_id": run_id}, file)
        file.flush()
        os.fsync(file.fileno())
    draft.replace(out / _JOURNAL)


def _place_results(out: Path) -> None:
    new, current = out / _NEXT / RESULTS, out / RESULTS
    if not new.is_file():  # already in place
        return
    if current.is_file():
        kept = out / _NEXT / PREVIOUS
        kept.unlink(missing_ok=True)
        _link_or_copy(current, kept)  # so that there is a results.duckdb at every moment
        patiently(lambda: kept.replace(out / PREVIOUS), out / PREVIOUS)
    patiently(lambda: new.replace(current), current)


def _place_folder(new: Path, current: Path, run_id: str) -> None:
    if (current / RUN_FILE).is_file() and (current / RUN_FILE).read_text(encoding="utf-8").strip() == run_id:
        return
    if current.exists() and not _exchange(new, current):
        old = new.with_name(f"{new.name}.old")
        patiently(lambda: current.replace(old), current)
    if new.exists() and not current.exists():
        patiently(lambda: new.replace(current), current)


def _place_book(out: Path) -> None:
    """Puts the workbook in place, under a numbered name where the first is held, or is somebody else's file."""
    new = out / _NEXT / BOOK
    if not new.is_file():  # already in place
        return
    free = [out / name for name in BOOKS if not (out / name).exists() or is_made_by_us(out / name)]
    placed = place_book(new, *free)
    for path in free:
        if path != placed and not is_open_elsewhere(path):
            with suppress(PermissionError):  # open elsewhere: it stays until it is closed
                path.unlink(missing_ok=True)


def _exchange(one: Path, other: Path) -> bool:
    """Lets two folders change places in one step; False where the system cannot."""
    try:
        libc = ctypes.CDLL(None, use_errno=True)
        if sys.platform == "darwin":
            return libc.renamex_np(os.fsencode(one), os.fsencode(other), 2) == 0
        at_cwd = -100
        return libc.renameat2(at_cwd, os.fsencode(one), at_cwd, os.fsencode(other), 2) == 0
    except (AttributeError, OSError, TypeError):
        return False


def _link_or_copy(source: Path, target: Path) -> None:
    try:
        target.hardlink_to(source)
    except OSError:  # a file system without hard links
        shutil.copyfile(source, target)


def _remove(folder: Path) -> None:
    if folder.exists():
        patiently(lambda: shutil.rmtree(folder), folder)

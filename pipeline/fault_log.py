"""Keeps the traceback of a fault of our own, without anything that records might hold.

An error's message may quote a cell, so only the messages of our own ModelError are kept; frames tell module, line
and function, and no path of the machine.
"""

import errno
import os
import platform
import sys
import tempfile
import traceback
from datetime import UTC, datetime
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

from pipeline.model_files import ModelError
from pipeline.warehouse import MEMORY_VARIABLE, memory_limit

LOG = "fitback.log"

_NOT_ALLOWED = "fitback may not write here; choose another output folder with --out."
_FULL = "the disk is full; free some space and run again."
_TOO_LARGE = "a file there may grow no larger; let it (ulimit -f, the disk's format) or choose another with --out."
_QUOTA = "your share of the disk is used up; free some space and run again."
_DISK_ERRORS = {
    errno.ENOSPC: _FULL,
    errno.EFBIG: _TOO_LARGE,
    errno.EDQUOT: _QUOTA,
    errno.EACCES: _NOT_ALLOWED,
    errno.EPERM: _NOT_ALLOWED,
    errno.EROFS: _NOT_ALLOWED,
}
_IN_WORDS = (errno.ENOSPC, errno.EFBIG, errno.EDQUOT)


def write_fault(folder: Path, error: BaseException) -> Path | None:
    """Adds the fault to `folder/fitback.log` and returns the file; None where it cannot be written.

    A folder that does not exist yet is not made for it: the log then lies with the system's temporary files.
    """
    folder = folder if folder.is_dir() else Path(tempfile.gettempdir())
    try:
        with (folder / LOG).open("a", encoding="utf-8") as file:
            file.write(fault_text(error))
    except OSError:
        return None
    return folder / LOG


def fault_text(error: BaseException) -> str:
    """When and where the error arose, with its causes, the first cause first."""
    head = f"{datetime.now(UTC):%Y-%m-%d %H:%M:%S} UTC, fitback {_version('fitback')}, duckdb {_version('duckdb')}, "
    head += f"Python {platform.python_version()} on {sys.platform}\n"
    return head + "which then led to\n".join(_one(each) for each in _chain(error)) + "\n"


def told(error: BaseException) -> str:
    """The error in a few words that hold no record: its kind, and the message where it is our own."""
    return f"{type(error).__name__}: {error}" if isinstance(error, ModelError) else type(error).__name__


def is_interrupt(error: BaseException) -> bool:
    """True where a library turned Ctrl-C into an error of its own."""
    return any(
        type(each).__name__ in ("InterruptException", "KeyboardInterrupt")
        or (type(each) is RuntimeError and "interrupted" in str(each).lower())  # what DuckDB's Python layer makes of it
        for each in _chain(error)
    )


def out_of_room(error: BaseException) -> str:
    """One sentence where disk, memory or permission does not suffice; empty for every other error."""
    for each in _chain(error):
        if isinstance(each, OSError) and each.errno in _DISK_ERRORS:
            return f"{each.filename or 'The output folder'}: {_DISK_ERRORS[each.errno]}"
        # a database tells it in words, within an error of reading and writing or of ending a transaction
        told_by_database = next((number for number in _IN_WORDS if os.strerror(number).lower() in str(each).lower()), 0)
        if type(each).__name__ in ("IOException", "TransactionException", "FatalException") and told_by_database:
            return f"The output folder: {_DISK_ERRORS[told_by_database]}"
        if type(each).__name__ in ("OutOfMemoryException", "MemoryError"):
            return f"The job needs more memory than {memory_limit()}; set {MEMORY_VARIABLE} to more, for instance 2GB."
    return ""


def _chain(error: BaseException) -> list[BaseException]:
    chain = [error]
    while following := chain[-1].__cause__ or chain[-1].__context__:
        if following in chain:
            break
        chain.append(following)
    return chain[::-1]


def _one(error: BaseException) -> str:
    frames = traceback.extract_tb(error.__traceback__)
    lines = [f"  {_module(frame.filename)}, line {frame.lineno}, in {frame.name}\n" for frame in frames]
    return "".join(lines) + told(error) + "\n"


def _module(file: str) -> str:
    """The end of the path that belongs to a package."""
    roots = [root for root in sys.path if root and Path(file).is_relative_to(root)]
    return Path(file).relative_to(max(roots, key=len)).as_posix() if roots else Path(file).name


def _version(package: str) -> str:
    try:
        return version(package)
    except PackageNotFoundError:
        return "unknown"

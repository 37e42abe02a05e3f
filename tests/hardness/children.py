"""Runs a job in a forked child: with a time-out, killed at a moment if asked, and with the most memory it held.

The process that forks has loaded every library and started no thread, so a child begins at once and safely.
"""

import importlib
import os
import pickle
import pkgutil
import resource
import signal
import sys
import threading
import time
import traceback
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

LIBRARIES = (
    "altair", "great_expectations", "openpyxl", "pandas", "scipy.stats", "sklearn.linear_model", "splink", "vl_convert",
)  # fmt: skip


@dataclass(frozen=True)
class Ended:
    """How a child ended. status: 0 done, 1 raised (trace says what), negative: the signal that ended it.

    value     what the job returned
    seconds   from fork to end
    peak_mib  the most memory the child held
    """

    status: int
    value: Any
    trace: str
    seconds: float
    peak_mib: float
    is_late: bool = False


def load_everything() -> None:
    """Imports what a run imports, and learns what comes with fitback, so that children need not; starts no thread."""
    import pipeline.graph
    from pipeline.building.fingerprints import columns_taken, modules_imported
    from pipeline.catalogue import load_catalogue
    from pipeline.ingest.coding.coded import learnt

    for name in LIBRARIES:
        importlib.import_module(name)
    for module in pkgutil.walk_packages(pipeline.__path__, "pipeline."):
        if module.name != "pipeline.__main__":
            importlib.import_module(module.name)
    # what the files of the models say is read once here, and every child finds it read
    for model in pipeline.graph.standard_graph().models.values():
        if model.is_sql:
            columns_taken(model, "", ("",))
        else:
            modules_imported(model.path)
    catalogue = load_catalogue()
    learnt(catalogue.note_words, tuple(row.name for row in catalogue.faults), ())
    assert threading.active_count() == 1, "a thread that runs would not live on in a child"


def in_child(job: Callable[[], Any], most_seconds: float, kill_after: float | None = None) -> Ended:
    """Runs the job in a child of its own; `kill_after` seconds kill it with SIGKILL, `most_seconds` too, as late."""
    return ended(begun(job), most_seconds, kill_after)


@dataclass(frozen=True)
class Child:
    """A child at work: its process, where it will tell what came of it, and when it began."""

    process: int
    read_end: int
    started: float


def begun(job: Callable[[], Any]) -> Child:
    """Begins the job in a child of its own. Of several at once, all are begun before any is waited for."""
    read_end, write_end = os.pipe()
    started = time.monotonic()
    process = os.fork()
    if process == 0:
        os.close(read_end)
        _work(job, write_end)
    os.close(write_end)
    return Child(process, read_end, started)


def ended(child: Child, most_seconds: float, kill_after: float | None = None) -> Ended:
    """Waits until the child ends, or ends it, as `in_child` says."""
    limit = min(most_seconds, kill_after if kill_after is not None else most_seconds)
    timer = threading.Timer(limit, os.kill, (child.process, signal.SIGKILL))
    timer.start()
    with os.fdopen(child.read_end, "rb") as pipe:
        told = pipe.read()
    _, wait_status, usage = os.wait4(child.process, 0)
    timer.cancel()
    timer.join()
    seconds = time.monotonic() - child.started
    status = os.waitstatus_to_exitcode(wait_status)
    value, trace = pickle.loads(told) if told and status in (0, 1) else (None, "")
    is_late = status == -signal.SIGKILL and seconds >= most_seconds
    return Ended(status, value, trace, seconds, _mib(usage.ru_maxrss), is_late)


def _work(job: Callable[[], Any], write_end: int) -> None:
    status, told = 0, (None, "")
    try:
        told = (job(), "")
    except BaseException:  # the parent judges whatever it was
        status, told = 1, (None, traceback.format_exc())
    with os.fdopen(write_end, "wb") as pipe:
        pickle.dump(told, pipe)
    os._exit(status)


def limit_file_size(most_bytes: int) -> None:
    """From here on no file of this process grows beyond that: what a full disk is to it."""
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (most_bytes, most_bytes))


def _mib(maxrss: int) -> float:
    return maxrss / (1024**2 if sys.platform == "darwin" else 1024)

"""Processes beside the first, which compute what it hands them: models made in Python, workbook and pages.

Takes functions of modules with what they are given, all of which can be pickled; gives what they return. What fails
there is left to the first process, which then does it itself, so that an error shows where it always did. The
processes end with the first, however that ends. They are begun as a command of their own: the ways that
`multiprocessing` offers would run the caller's script a second time, or copy a process that has threads.
"""

import os
import pickle
import subprocess
import sys
import threading
from collections import deque
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from queue import Empty, SimpleQueue
from typing import Any, BinaryIO

# With less to compute a process has not yet loaded the libraries when all is done; with more, handing tables over
# takes the memory of each table twice.
FEWEST_DOORS, MOST_DOORS = 500, 50_000
MOST_PROCESSES = 4

_WORK = "from pipeline.building.side_processes import work; work()"
_READY, _GONE = "ready", "gone"


@dataclass(frozen=True)
class Job:
    """Something to compute: a function of a module and what it is given."""

    name: str
    function: Callable[..., Any]
    given: tuple[Any, ...]

    def do(self) -> Any:
        """Does it here and now."""
        return self.function(*self.given)


@dataclass(frozen=True)
class Done:
    """What came of a job. value: what the function returned; None where it failed."""

    job: str
    value: Any
    has_failed: bool


@dataclass
class _Side:
    process: "subprocess.Popen[bytes]"
    job: str | None = None
    is_ready: bool = False

    @property
    def is_free(self) -> bool:
        return self.is_ready and self.job is None


class SideProcesses:
    """Hands jobs, each under a name, to free processes, keeps what waits for one, and collects what comes back."""

    def __init__(self, count: int) -> None:
        self._heard: SimpleQueue[tuple[_Side, Any]] = SimpleQueue()
        self._waiting: deque[Job] = deque()
        self._sides: list[_Side] = []
        with suppress(OSError):  # what cannot be begun is not there: the first process then does all
            self._sides += [_Side(_begun()) for _ in range(count)]
        for side in self._sides:
            threading.Thread(target=self._listen, args=(side,), daemon=True).start()

    @property
    def jobs(self) -> set[str]:
        """The jobs that are being done, or wait for a process."""
        return {job.name for job in self._waiting} | {side.job for side in self._sides if side.job is not None}

    @property
    def count(self) -> int:
        """How many processes there are."""
        return len(self._sides)

    @property
    def has_free(self) -> bool:
        """Whether a process waits for a job; one that still loads its libraries does not."""
        return any(side.is_free for side in self._sides)

    def begin(self, job: Job) -> None:
        """Hands the job to a free process, or to the first that becomes free."""
        self._waiting.append(job)
        self._hand_out()

    def do_all(self, jobs: list[Job]) -> None:
        """Does the jobs, which need nothing of one another: beside, begun in the order given; or here, one by one."""
        named = {job.name: job for job in jobs}
        for job in jobs:
            self.begin(job)
        while self.jobs:
            for done in self.finished(can_wait=True):
                if done.has_failed:
                    named[done.job].do()

    def finished(self, can_wait: bool = False) -> list[Done]:
        """The jobs that came to an end since the last call; waits for one, or a newly free process, if asked to.

        Where no process is left, the jobs that wait for one have failed.
        """
        found = []
        with suppress(Empty):
            while True:
                side, message = self._heard.get(block=can_wait and bool(self._sides) and bool(self.jobs))
                can_wait = False
                found += self._done(side, message)
                self._hand_out()
        while self._waiting and not self._sides:
            found.append(Done(self._waiting.popleft().name, None, has_failed=True))
        return found

    def end(self) -> None:
        """Ends the processes, whatever they are doing."""
        for side in self._sides:
            side.process.kill()
        for side in self._sides:
            side.process.wait()
        self._sides = []

    def _hand_out(self) -> None:
        for side in self._sides:
            if self._waiting and side.is_free:
                job = self._waiting.popleft()
                side.job = job.name
                with suppress(OSError):  # it has died: `finished` tells so
                    _send(side.process.stdin, pickle.dumps(job, protocol=pickle.HIGHEST_PROTOCOL))

    def _done(self, side: _Side, message: Any) -> list[Done]:
        if message == _READY:
            side.is_ready = True
            return []
        if message == _GONE:
            self._sides.remove(side)
            message = (True, None)
        job, side.job = side.job, None
        return [Done(job, message[1], has_failed=message[0])] if job is not None else []

    def _listen(self, side: _Side) -> None:
        with suppress(Exception):  # it has died, or what it sends cannot be read
            while True:
                self._heard.put((side, pickle.load(side.process.stdout)))  # type: ignore[arg-type]
        self._heard.put((side, _GONE))


@contextmanager
def beside(n_doors: int) -> Iterator[SideProcesses]:
    """Processes for a firm of so many doors: as many as there are processors, or none where they would not pay."""
    n_processors = os.cpu_count() or 1
    pays = FEWEST_DOORS <= n_doors <= MOST_DOORS and n_processors > 1
    sides = SideProcesses(min(n_processors, MOST_PROCESSES) if pays else 0)
    try:
        yield sides
    finally:
        sides.end()


def work() -> None:
    """The life of a side process: load the libraries, then do job after job until the first process goes."""
    back = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # so that nothing that a library prints stands among the answers
    jobs: SimpleQueue[Job] = SimpleQueue()
    threading.Thread(target=_take_jobs, args=(jobs,), daemon=True).start()
    import polars  # noqa: F401
    import scipy.optimize  # noqa: F401

    _send(back, pickle.dumps(_READY))
    while True:
        _send(back, _answer(jobs.get()))


def _begun() -> "subprocess.Popen[bytes]":
    places = os.pathsep.join(place or str(Path.cwd()) for place in sys.path)
    one_each = {"POLARS_MAX_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"}  # they share the processors already
    return subprocess.Popen(
        [sys.executable, "-P", "-c", _WORK],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        env={**os.environ, **one_each, "PYTHONPATH": places},
        start_new_session=True,  # Ctrl-C is for the first process, which ends the others
    )


def _take_jobs(jobs: "SimpleQueue[Job]") -> None:
    """Queues what the first process sends; its end is the end of this one, in the middle of whatever it does."""
    try:
        while True:
            jobs.put(pickle.load(sys.stdin.buffer))
    finally:
        os._exit(0)


def _answer(job: Job) -> bytes:
    """Whether the job failed, and what it gave, packed."""
    try:
        return pickle.dumps((False, job.do()), protocol=pickle.HIGHEST_PROTOCOL)
    except Exception:
        return pickle.dumps((True, None))


def _send(pipe: BinaryIO | Any, packed: bytes) -> None:
    pipe.write(packed)
    pipe.flush()

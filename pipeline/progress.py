"""What a run tells while it works: a moving bar on a terminal, plain lines elsewhere, or nothing."""

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Protocol

from pipeline.errors import visible

if TYPE_CHECKING:
    from rich.progress import Progress as RichProgress


# the ink and the blue pencil of the pages; the rest is as the terminal shows it
_STYLES = {
    "bar.back": "dim",
    "bar.complete": "#1f5fa8",
    "bar.finished": "#1f5fa8",
    "bar.pulse": "#1f5fa8",
    "progress.elapsed": "none",
    "progress.spinner": "none",
}


class Progress(Protocol):
    """Called with a sentence as each stage ends; `at` is told how far a stage has come."""

    def __call__(self, sentence: str) -> None:
        """Tells one sentence, which stays."""

    def at(self, what: str, done: int = 0, total: int = 0) -> None:
        """Shows what is done and how far it has come; each call replaces the last. total 0: nobody knows."""


class Silence:
    """Tells nothing."""

    def __call__(self, sentence: str) -> None:
        """Says nothing."""

    def at(self, what: str, done: int = 0, total: int = 0) -> None:
        """Shows nothing."""


class PlainLines:
    """One line a sentence on standard error, for logs and pipes."""

    def __call__(self, sentence: str) -> None:
        """Prints the sentence."""
        print(visible(sentence), file=sys.stderr, flush=True)

    def at(self, what: str, done: int = 0, total: int = 0) -> None:
        """Shows nothing: a log needs no moving parts."""


class TerminalBar:
    """A bar that moves, with the sentences above it."""

    def __init__(self, bar: "RichProgress") -> None:
        self._bar = bar
        self._task = bar.add_task("Starting", total=None)

    def __call__(self, sentence: str) -> None:
        """Prints the sentence above the bar."""
        self._bar.console.print(visible(sentence), highlight=False, markup=False)
        self._move(None)

    def at(self, what: str, done: int = 0, total: int = 0) -> None:
        """Moves the bar."""
        self._bar.update(self._task, description=what)
        self._move(total or None, done)

    def _move(self, total: int | None, done: int = 0) -> None:
        """Without a total the bar runs to and fro; an update to no total would leave the last one as it was."""
        for task in self._bar.tasks:
            if task.id == self._task:
                task.total = total
        self._bar.update(self._task, completed=done)


@contextmanager
def showing(is_quiet: bool) -> Iterator[Progress]:
    """The progress that fits where standard error goes; NO_COLOR is respected."""
    if is_quiet:
        yield Silence()
    elif not sys.stderr.isatty():
        yield PlainLines()
    else:
        from rich.console import Console
        from rich.progress import BarColumn, Progress, SpinnerColumn, TextColumn, TimeElapsedColumn
        from rich.theme import Theme

        columns = (SpinnerColumn(), TextColumn("{task.description}", markup=False), BarColumn(), TimeElapsedColumn())
        console = Console(stderr=True, theme=Theme(_STYLES))
        with Progress(*columns, console=console, transient=True) as bar:
            yield TerminalBar(bar)

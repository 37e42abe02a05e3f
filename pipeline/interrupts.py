"""Ctrl-C while the large libraries load, which do not bear it: it counts once they are there.

An interrupt inside the start of a compiled library ends the process with an abort, or is lost without a word.
"""

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager


def load_libraries() -> None:
    """Loads what nearly every job reads and computes with.

    Raises KeyboardInterrupt at the end, where it was asked for meanwhile.
    """
    with held_back():
        import duckdb  # noqa: F401
        import polars  # noqa: F401


@contextmanager
def held_back() -> Iterator[None]:
    """Keeps an interrupt for the end of the block, and raises KeyboardInterrupt there."""
    usual = signal.getsignal(signal.SIGINT)
    # nobody interrupts another thread, nor a process that was told to ignore it
    if threading.current_thread() is not threading.main_thread() or not callable(usual):
        yield
        return
    asked: list[int] = []
    signal.signal(signal.SIGINT, lambda number, _: asked.append(number))
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, usual)
    if asked:
        raise KeyboardInterrupt

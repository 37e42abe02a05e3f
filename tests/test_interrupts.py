"""Ctrl-C while libraries load."""

import os
import signal
import sys

import pytest

from pipeline.interrupts import held_back

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="signals")


def test_an_interrupt_counts_once_the_libraries_are_there():
    loaded = []

    def load():
        with held_back():
            os.kill(os.getpid(), signal.SIGINT)
            loaded.append("library")

    with pytest.raises(KeyboardInterrupt):
        load()
    assert loaded == ["library"]
    assert signal.getsignal(signal.SIGINT) is signal.default_int_handler  # from then on it counts at once


def test_a_process_that_ignores_interrupts_goes_on_ignoring_them():
    usual = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        with held_back():
            os.kill(os.getpid(), signal.SIGINT)
        assert signal.getsignal(signal.SIGINT) == signal.SIG_IGN
    finally:
        signal.signal(signal.SIGINT, usual)

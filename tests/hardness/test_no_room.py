"""A full disk is one sentence, leaves nothing half in place, and spoils no later run."""

import sys

import pytest

from tests.hardness.no_room import FEW
from tests.hardness.sample import figures_of


@pytest.mark.skipif(sys.platform == "win32", reason="forks and limits")
def test_a_run_without_room_is_one_sentence_and_the_next_is_as_ever():
    found = figures_of("no_room", "--few")
    assert found["faults"] == []
    assert found["files"] == 2 * len(FEW)

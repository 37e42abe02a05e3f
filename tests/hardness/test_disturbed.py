"""A seeded sample of runs that are killed, left without room, or begun two at once, and of the runs that come after."""

import sys
from typing import Any

import pytest

from tests.hardness.no_room import FEW
from tests.hardness.sample import figures_of

pytestmark = [pytest.mark.skipif(sys.platform == "win32", reason="forks, signals and limits"), pytest.mark.slow]
PAIRS = 3


@pytest.fixture(scope="module")
def found() -> dict[str, Any]:
    """What came of each kind of disturbance: one firm serves all of them."""
    return figures_of("disturbed", "--kills", "20", "--pairs", str(PAIRS), "--seed", "1", "--few")


def test_after_a_kill_at_any_moment_the_next_run_leaves_what_an_undisturbed_one_does(found: dict[str, Any]) -> None:
    assert found["kills"]["faults"] == []
    assert found["kills"]["kills"] >= 20


def test_a_run_without_room_is_one_sentence_and_the_next_is_as_ever(found: dict[str, Any]) -> None:
    assert found["no_room"]["faults"] == []
    assert found["no_room"]["files"] == 2 * len(FEW)


def test_of_two_runs_at_once_the_second_waits_or_says_why_not(found: dict[str, Any]) -> None:
    assert found["two_runs"]["faults"] == []
    assert found["two_runs"]["pairs"] == PAIRS

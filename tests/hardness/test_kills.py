"""A seeded sample of kills: after each, the next run leaves what an undisturbed one does."""

import sys

import pytest

from tests.hardness.sample import figures_of

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="forks and signals")


def test_after_a_kill_at_any_moment_the_next_run_leaves_what_an_undisturbed_one_does():
    found = figures_of("kills", "--kills", "20", "--seed", "1")
    assert found["faults"] == []
    assert found["kills"] >= 20


def test_of_two_runs_at_once_the_second_waits_or_says_why_not():
    found = figures_of("two_runs", "--pairs", "3")
    assert found["faults"] == []

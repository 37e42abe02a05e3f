"""The fixing plan against a published rule and its worked table."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.sheets.door import Door
from pipeline.sheets.fixings import fixing_plan, least_fixings, plan_member

# NHBC Standards 6.7.11: outer fixings 150 to 250 mm from the corner, others at most 600 mm apart, two a side at least.
# The counts follow from the rule: two at 250 mm from the corners, and as many between as 600 mm asks for.
TABLE = {700: 2, 1200: 3, 2100: 4, 2400: 5, 3000: 6, 3600: 7, 4000: 7, 4500: 8, 5000: 9, 6000: 11}


@pytest.mark.parametrize(("length", "count"), TABLE.items())
def test_members_have_as_many_fixings_as_the_table_says(length: int, count: int) -> None:
    assert least_fixings(length) == count
    assert len(plan_member("head", length).positions) == count


@pytest.mark.parametrize("length", [1100, 1700, 4100])
def test_a_step_of_exactly_600_mm_is_none_too_long(length: int) -> None:
    """Exactly 600 mm apart and 250 mm from the corners passes the rule."""
    assert (length - 500) / (least_fixings(length) - 1) == 600


def test_seven_fixings_of_a_four_metre_head_stand_at_least_200_mm_from_its_corners() -> None:
    """At 150 mm from the corners the same seven would be 617 mm apart."""
    assert plan_member("head", 4000).positions == (200, 800, 1400, 2000, 2600, 3200, 3800)


@given(st.integers(500, 20_000), st.integers(500, 10_000))
def test_the_plan_of_any_frame_keeps_the_rule(width: int, height: int) -> None:
    for plan in fixing_plan(Door(width, height, 1)):
        ends = (plan.positions[0], plan.length - plan.positions[-1])
        assert all(150 <= end <= 250 for end in ends)
        steps = [after - before for before, after in pairwise(plan.positions)]
        assert min(steps) > 0
        assert max(steps) <= 600
        assert len(plan.positions) >= 2
        assert all(0 < at < plan.length for at in plan.packers)

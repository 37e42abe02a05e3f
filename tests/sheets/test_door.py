"""Sizes that no door can have get one sentence; stations lie on the door and close enough together."""

from itertools import pairwise

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from pipeline.errors import UserError
from pipeline.sheets.door import Door, door_of, sill_stations


@pytest.mark.parametrize(
    ("size", "says"),
    [
        ((4200, 2100, 0), "--leaves 0 cannot be: give 1 to 20."),
        ((4200, 2100, 40), "--leaves 40 cannot be: give 1 to 20."),
        ((100, 2100, 1), "--width 100 mm cannot be the width of a door: give mm between 500 and 20,000."),
        ((30_000, 2100, 8), "--width 30000 mm cannot be the width of a door: give mm between 500 and 20,000."),
        ((4200, 30_000, 4), "--height 30000 mm cannot be the height of a door: give mm between 500 and 10,000."),
        ((4.2, 2100, 4), "give mm between 500 and 20,000; 4.2 m is 4,200 mm."),
        ((float("nan"), 2100, 4), "--width nan mm cannot be"),
        ((-4200, 2100, 4), "--width -4200 mm cannot be"),
        ((1000, 2100, 10), "10 leaves in 1,000 mm would be 100 mm wide each, which no leaf is"),
        ((12_000, 2100, 1), "1 leaf in 12,000 mm would be 12,000 mm wide each, which no leaf is"),
    ],
)
def test_a_size_that_cannot_be_gets_one_sentence(size: tuple[float, float, int], says: str) -> None:
    with pytest.raises(UserError) as raised:
        door_of(*size)
    assert says in str(raised.value)
    assert str(raised.value).count(". ") == 0


@given(st.integers(500, 20_000), st.integers(1, 20))
def test_the_sill_is_levelled_at_ends_and_joints_and_at_most_750_mm_apart(width: int, leaves: int) -> None:
    assume(150 <= width / leaves <= 3000)
    door = Door(width, 2100, leaves)
    stations = sill_stations(door)
    assert (stations[0], stations[-1]) == (50, width - 50)
    assert set(door.joints) <= set(stations)
    assert all(0 < after - before <= 750 for before, after in pairwise(stations))

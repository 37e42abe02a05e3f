"""Doors still needed: so many open every gate, fewer do not, and where more would not help none is named."""

from types import SimpleNamespace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.model.evidence import times_needed, too_few


def room(contrast: float = 1.0, share: float = 0.8, failed: float | None = None, entangled: bool = False) -> Any:
    """A design whose adjusters leave less of the deviation the more callbacks inform them."""
    return SimpleNamespace(
        design=SimpleNamespace(place=SimpleNamespace(is_check=failed is not None)),
        failed_share=failed,
        room=SimpleNamespace(is_entangled=entangled, rival="the crew"),
        null_error=lambda events: contrast / (events * share * (0.5 + 0.5 / (1 + events / 50))) ** 0.5,
    )


ROOMS = st.builds(
    room,
    contrast=st.floats(0.2, 4.0),
    share=st.floats(0.2, 1.0),
    failed=st.one_of(st.none(), st.floats(0.01, 1.0)),
)


@given(ROOMS, st.integers(1, 200), st.floats(0.01, 1.0))
def test_so_many_times_as_many_doors_give_an_answer(asked, events, recorded):
    times = times_needed(asked, events, recorded)
    assert times is not None
    assert too_few(asked, events * times + 1e-6, min(recorded * times + 1e-9, 1.0)) is None


@given(ROOMS, st.integers(1, 200), st.floats(0.01, 1.0))
def test_clearly_fewer_do_not(asked, events, recorded):
    times = times_needed(asked, events, recorded)
    assert times is not None
    if times > 1.1:
        assert too_few(asked, 0.9 * events * times, 0.9 * recorded * times) is not None


@pytest.mark.parametrize(
    ("asked", "events"), [(room(entangled=True), 30), (room(), 0), (room(failed=0.0), 30)], ids=["twins", "none", "ok"]
)
def test_where_more_doors_would_not_help_none_is_named(asked, events):
    assert times_needed(asked, events, 0.5) is None


def test_an_answered_question_needs_no_more():
    assert times_needed(room(), 100, 0.9) == 1.0

"""Round values: how fine, on the scale that things were read on, and fair to every reading."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.stats.round_values import nearest_step, round_step, scale_of


@given(st.floats(-1e4, 1e4), st.floats(1e-3, 1e4))
def test_steps_are_round_and_no_more_than_asked_for(low: float, span: float) -> None:
    step = round_step(low, low + span)
    assert span / step <= 24 * (1 + 1e-6)
    assert span / step > 24 / 2.5 * (1 - 1e-6) / 1.01
    assert f"{step:.0e}"[0] in "125"


@pytest.mark.parametrize("scale", [0.1, 0.2, 0.25, 0.5, 1.0, 5.0])
def test_steps_are_multiples_of_the_scale(scale: float) -> None:
    step = round_step(0.0, 4.5, scale)
    assert step / scale == pytest.approx(round(step / scale))


def test_a_span_of_nothing_has_no_step() -> None:
    with pytest.raises(ValueError, match="span"):
        round_step(2.0, 2.0)


@pytest.mark.parametrize("scale", [0.1, 0.5, 1.0, 5.0])
def test_the_scale_is_found_where_most_read_on_it(scale: float) -> None:
    rng = np.random.default_rng(1)
    read = scale * rng.integers(0, 20, 300)
    finer = rng.uniform(0, 20 * scale, 30)
    assert scale_of(np.concatenate([read, finer])) == pytest.approx(scale)
    # zeros say nothing of the scale
    assert scale_of(np.concatenate([read, np.zeros(2000)])) == pytest.approx(scale)


def test_values_off_any_scale_have_none() -> None:
    assert scale_of(np.random.default_rng(1).gamma(2, 1, 500)) == 0
    assert scale_of(np.zeros(9)) == 0


def test_every_step_takes_as_many_readings() -> None:
    readings = np.arange(0, 40) / 10
    assert set(np.unique(nearest_step(readings, 0.2), return_counts=True)[1][1:-1]) == {2}

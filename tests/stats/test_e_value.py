"""The E-value beside the bound that it comes from, and what follows from its definition; published ones elsewhere."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import optimize

from pipeline.stats.e_value import e_value

ratios = st.floats(1.01, 50.0)


@given(ratios)
def test_a_confounder_of_that_strength_explains_the_ratio_and_a_weaker_one_does_not(ratio: float) -> None:
    # the bounding factor of Ding and VanderWeele (2016), Epidemiology 27, 368-377, with both ratios alike
    def bound(strength: float) -> float:
        return strength**2 / (2 * strength - 1) - ratio

    assert e_value(ratio) == pytest.approx(optimize.brentq(bound, 1.0, 200.0), rel=1e-6)


@given(ratios)
def test_the_direction_does_not_matter(ratio: float) -> None:
    assert e_value(1 / ratio) == pytest.approx(e_value(ratio))


def test_a_ratio_further_off_needs_more() -> None:
    found = [e_value(ratio) for ratio in (1.0, 1.2, 2.0, 5.0)]
    assert found[0] == 1.0
    assert (np.diff(found) > 0).all()

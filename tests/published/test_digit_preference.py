"""Digit preference against a census that is known for it, and against other libraries."""

import numpy as np
import pytest
from scipy import stats

from pipeline.stats.digits import digit_chi_square, whipple_index

# Males by age 23 to 62, summed by last digit; US Census Bureau, Population Analysis System, spreadsheet SINGAGE
# (the example data, read in the tests of an open demography package, CC BY-SA 3.0 IGO).
CENSUS = np.array([246332, 42659, 54545, 70174, 47968, 196550, 62330, 104543, 60987, 60755])


def test_whipple_index_of_the_census() -> None:
    # printed: 2.34
    assert CENSUS.sum() == 946843
    assert whipple_index(CENSUS) == pytest.approx(2.33873, abs=5e-6)
    assert round(whipple_index(CENSUS), 2) == 2.34


def test_digits_without_preference_have_index_one_and_all_on_0_and_5_have_five() -> None:
    assert whipple_index(np.full(10, 7)) == 1.0
    assert whipple_index([3, 0, 0, 0, 0, 9, 0, 0, 0, 0]) == 5.0


def test_chi_square_of_the_census_digits() -> None:
    assert digit_chi_square(CENSUS) == pytest.approx(463702.1, abs=0.05)
    assert digit_chi_square(CENSUS) == pytest.approx(float(stats.chisquare(CENSUS).statistic), rel=1e-12)


def test_chi_square_against_other_expected_counts() -> None:
    expected = np.linspace(1, 2, 10) * CENSUS.sum() / 15
    reference = float(stats.chisquare(CENSUS, expected).statistic)
    assert digit_chi_square(CENSUS, expected) == pytest.approx(reference, rel=1e-12)

"""E-values against the print and the rule for common events."""

import pytest

from pipeline.stats.e_value import e_value, e_value_of_interval


# VanderWeele and Ding (2017), Ann. Intern. Med. 167, 268-274: 7.2 and 3.0 in print; the further digits, the shift to a
# true ratio of 1.5 and the protective ratio from the vignette of the R package EValue (read: 7.263034, 3.0, 2.720759).
@pytest.mark.parametrize(
    ("ratio", "true", "expected"), [(3.9, 1, 7.26303), (1.8, 1, 3.0), (2.5, 1.5, 2.72076), (0.8, 1, 1.80902)]
)
def test_published_values(ratio: float, true: float, expected: float) -> None:
    assert e_value(ratio, true_ratio=true) == pytest.approx(expected, abs=5e-6)


def test_the_interval_counts_by_its_nearer_end() -> None:
    assert e_value_of_interval(1.8, 8.7) == e_value(1.8)
    assert e_value_of_interval(0.5, 0.8) == e_value(0.8)
    assert e_value_of_interval(0.9, 1.4) == 1


def test_a_common_event_needs_less_to_be_explained_away() -> None:
    # the square-root rule of the same paper's appendix, which is symmetric in the direction of the ratio
    assert 1 < e_value(2.0, share_with_event=0.4) < e_value(2.0)
    assert e_value(2.0, share_with_event=0.4) == pytest.approx(e_value(0.5, share_with_event=0.4))


def test_a_ratio_of_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="over 0"):
        e_value(0)

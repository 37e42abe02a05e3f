"""Sentences of early warnings: the numbers in them differ where they are said to."""

from datetime import date

import pytest

from pipeline.model.signal_words import More, Rise, more_says, rise_says


@pytest.mark.parametrize(
    ("now", "before", "unit", "expected"),
    [
        (3.11, 1.94, "mm", "on average 3.1 mm (3.0 to 3.3) against 1.9 mm before"),
        (0.712, 0.684, "mm", "on average 0.71 mm (0.57 to 0.87) against 0.68 mm before"),
        (0.0231, 0.0192, "share", "on average 2.3 % (-11.7 to 18.3) against 1.9 % before"),
    ],
)
def test_a_rise_is_seen_in_its_numbers(now: float, before: float, unit: str, expected: str) -> None:
    rise = Rise("bow", "sill bowed", "", unit, False, 300, 200, now, now - 0.14, now + 0.16, before, None)
    assert expected in rise_says("all", date(2026, 5, 1), rise, "sill", False).how_much


@pytest.mark.parametrize(
    ("low", "high", "expected"),
    [(5.7, 57.8, "18 times as many (6 to 58)"), (1.2, 3.4, "18.2 times as many (1.2 to 3.4)")],
)
def test_a_ratio_that_is_known_roughly_has_no_decimals(low, high, expected):
    more = More("roller damage", 3, 3 / 18.2, low, high)
    assert more_says("all", date(2025, 2, 1), more).how_much.endswith(expected)

"""Sentences of early warnings: the numbers in them differ where they are said to."""

from datetime import date

import pytest

from pipeline.model.signal_words import Rise, rise_says


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

"""What practice is worth, in words."""

from dataclasses import replace

from pipeline.report.sheets.practice import practice_list
from pipeline.report.words.practice import NOTHING, by_gain, spared
from tests.report.samples import crew_out, weak_step


def test_the_most_callbacks_come_first_and_what_is_not_shown_is_not_listed() -> None:
    base = weak_step("K1", 0.3, 0.1)
    small = replace(base, crew="K2", priority=2.0, priority_low=0.4, priority_high=4.0)
    large = replace(base, crew="K3", priority=9.0, priority_low=5.0, priority_high=14.0)
    unsure = replace(base, crew="K4", priority=1.0, priority_low=0.0, priority_high=6.0)
    assert [weak.crew for weak in by_gain([small, unsure, large])] == ["K3", "K2"]
    assert spared(large) == "9 (5 to 14) callbacks"
    assert spared(unsure).startswith("not shown (1")
    (listing,) = practice_list([small, unsure, large], [crew_out("K3", "bow", 12), crew_out("K3", "dams", 30)])
    assert listing.items[0].text == (
        "sill, 9 (5 to 14) callbacks a year; 120 doors with the step recorded. First: mend dams (dams on 30 of "
        "100 doors)."
    )
    assert listing.items[1].text.endswith("120 doors with the step recorded.")
    assert listing.says == "Where practice spares callbacks: first crew K3 in sill, 9 (5 to 14) callbacks a year"


def test_without_evidence_nothing_is_promised() -> None:
    nothing = replace(weak_step("K1", 0.3, 0.1), priority=None, priority_low=None, priority_high=None)
    assert spared(nothing) == "no cause with evidence"
    (passage,) = practice_list([nothing], [])
    assert passage.paragraphs == (NOTHING,)
    assert practice_list([], []) == []

"""Places of crews and rates on the firm's mix."""

import pytest

from pipeline.report.numbers import Interval, ordinal
from pipeline.report.sheets.fair_crews import places_and_mix
from pipeline.report.words.fair_crews import not_on_the_mix, place, places_say
from tests.report.samples import crew_rate


@pytest.mark.parametrize(
    ("number", "words"),
    [
        (1, "1st"),
        (2, "2nd"),
        (3, "3rd"),
        (4, "4th"),
        (11, "11th"),
        (12, "12th"),
        (13, "13th"),
        (21, "21st"),
        (112, "112th"),
    ],
)
def test_ordinals(number: int, words: str) -> None:
    assert ordinal(number) == words


def test_a_place_is_a_span() -> None:
    assert place(crew_rate("K1")) == "3rd to 9th of 12"
    assert place(crew_rate("K1", place_low=12, place_high=12)) == "12th of 12"
    assert place(crew_rate("all")) == ""
    assert place(crew_rate("K1", place_low=None)) == ""


def test_the_sentence_names_a_crew_only_where_its_place_is_known() -> None:
    open_wide = crew_rate("K1")
    assert places_say([open_wide]) == "the places of one of one crews are open over half the list or more"
    known = crew_rate("K2", place_low=12, place_high=12)
    assert places_say([open_wide, known]).startswith("crew K2 is 12th of 12; the places of one of two crews")
    assert "K2" not in places_say([crew_rate("K2", place_low=1, place_high=2)])
    assert places_say([crew_rate("all")]) == ""


def test_refusals_are_said_and_nothing_is_said_where_nothing_is_compared() -> None:
    refused = crew_rate("K1", direct_rate=None, direct_note="has hardly met doors of the kind storey: first")
    assert not_on_the_mix([refused, crew_rate("K2")]) == ["crew K1 has hardly met doors of the kind storey: first."]
    assert places_and_mix([crew_rate("all")]) == []
    (passage,) = places_and_mix([refused])
    assert "Not told: Crew K1 has hardly met" in passage.paragraphs[-1]


def test_a_table_rounds_as_its_figure_does_but_never_across_the_datum() -> None:
    assert Interval(10.83, 9.81, 11.94).words(digits=0) == "11 (10 to 12)"
    assert Interval(1.3, 1.04, 1.6, datum=1.0).words(digits=1) == "1.30 (1.04 to 1.60)"

"""What is said of a crew's parts: never more than their intervals, whichever way the crew lies."""

from dataclasses import replace
from typing import Any

import pytest

from pipeline.report.rows.crew_step_rows import CrewStep
from pipeline.report.rows.table_rows import CrewRate
from pipeline.report.words import crew_steps as words
from tests.report.samples import crew_rate

RATE = crew_rate(
    "Birch", (1.5, 1.14, 1.94), steps_ratio=1.56, steps_low=1.21, steps_high=1.98, rest_ratio=1.03, rest_low=0.78,
    rest_high=1.36, funnel="above",
)  # fmt: skip
FRAME = CrewStep("Birch", "frame", 3, 1.34, 1.13, 1.57, "head not parallel to the sill")
SILL = CrewStep("Birch", "sill", 2, 1.03, 0.97, 1.09, "sill out of level")
STEPS = {"Birch": [SILL, FRAME]}


def of(**other: Any) -> CrewRate:
    return replace(RATE, **other)


def test_a_crew_whose_steps_tell_it_all():
    told = words.crew_says(RATE, STEPS)
    assert told == (
        "1.5 times (1.1 to 1.9) as often as the firm on the same doors (40 came). How its doors were fitted, as far as "
        "it is measured, comes to 1.6 times (1.2 to 2.0): frame 1.34 times (1.13 to 1.57), above all head not "
        "parallel to the sill. What is left, 1.0 times (0.8 to 1.4), could be chance."
    )
    assert words.headline([RATE], STEPS) == (
        "Crew Birch's 1.5 times (1.1 to 1.9) go with how its doors were fitted, above all the frame: head not "
        "parallel to the sill"
    )


def test_what_is_left_beyond_chance_is_said_to_be_so():
    left = of(steps_ratio=1.02, steps_low=0.9, steps_high=1.15, rest_ratio=1.48, rest_low=1.1, rest_high=1.9)
    told = words.crew_says(left, STEPS)
    assert "does not tell it apart: 1.02 times (0.90 to 1.15)" in told
    assert "What is left, 1.5 times (1.1 to 1.9), is beyond chance: something that is not measured." in told
    assert words.headline([left], STEPS) == "Crew Birch's 1.5 times (1.1 to 1.9) are not all in what is measured"


def test_where_neither_part_is_clear_nothing_is_made_of_it():
    neither = of(steps_low=0.9, steps_high=2.2)
    assert "go with" not in words.headline([neither], STEPS)
    assert "is not clear from what is measured" in words.headline([neither], STEPS)
    assert "frame" not in words.crew_says(neither, STEPS)


def test_a_crew_below_the_firm_is_told_by_its_better_steps():
    below = of(
        fair_ratio=0.59, fair_low=0.44, fair_high=0.77, steps_ratio=0.68, steps_low=0.59, steps_high=0.78,
        rest_ratio=0.89, rest_low=0.67, rest_high=1.1, funnel="below",
    )  # fmt: skip
    better = replace(SILL, ratio=0.89, low=0.83, high=0.95)
    told = words.crew_says(below, {"Birch": [better, FRAME]})
    assert "comes to 0.68 times (0.59 to 0.78): sill 0.89 times (0.83 to 0.95)" in told
    assert "frame" not in told


def test_a_crew_clearly_apart_goes_before_one_that_is_so_perhaps():
    perhaps = of(crew="Elm", fair_ratio=1.9, fair_low=1.01, fair_high=2.9, funnel="inside")
    assert words.headline([perhaps, RATE], STEPS).startswith("Crew Birch")
    assert [rate.crew for rate in words.told([RATE, perhaps])] == ["Elm", "Birch"]


@pytest.mark.parametrize(
    "rate",
    [of(fair_ratio=None, fair_low=None, fair_high=None), of(steps_ratio=None), of(fair_low=0.9, funnel="inside")],
)
def test_crews_that_are_not_apart_or_of_which_nothing_is_known_are_not_told(rate):
    assert words.told([rate]) == []
    assert words.headline([rate], STEPS) == ""


def test_the_trainer_sees_steps_that_clearly_bring_more_and_only_those():
    small = replace(FRAME, step="glazing", ratio=1.03, low=1.01, high=1.05)
    worse = words.worse_steps({"Birch": [SILL, FRAME, small], "Elm": [replace(SILL, crew="Elm")]})
    assert worse == [("Birch", [FRAME])]
    assert words.worse_says(worse) == "Crew Birch's frame brings 1.34 times (1.13 to 1.57) the callbacks of the firm's"

"""Sentences about crews: steps, rates, the trend. No crew is told apart on an interval that does not say so."""

import re
from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.report.rows.table_rows import Firm, Tally
from pipeline.report.words import rates, steps
from pipeline.report.words.common import crew_name, who_was_counted
from tests.report.samples import crew_out, crew_rate, month_of, plain, weak_step

FIRM = Firm("Invented", "EUR", date(2026, 6, 30), None, 1512, 2, date(2023, 7, 1), date(2026, 6, 1), 461, "run", True)
WHOLE = crew_rate("all", None, callbacks=80, callbacks_all=96, door_years=800.0, doors=300)
WEAK, USUAL, BETTER = weak_step("K4", 0.31, 0.08), weak_step("K1", 0.15, 0.06), weak_step("K7", 0.05, 0.04)


def test_the_weakest_step_is_said_without_blame():
    said = plain(steps.headline([USUAL, WEAK]))
    assert (
        said
        == "Begin with crew K4 in the sill step: 31 % (23 to 39) of its 120 doors have something out, against 14 % "
        "(10 to 18) in the firm."
    )
    assert not re.search(r"worst|bad|fault of|blame|fail", said)


def test_where_practice_is_shown_to_spare_callbacks_that_comes_before_what_is_out_most():
    gain = replace(USUAL, step="frame", priority=9.0, priority_low=5.0, priority_high=14.0)
    assert steps.headline([WEAK, USUAL, gain]) == (
        "Begin with crew K1 in the frame step: practice there could spare 9 (5 to 14) callbacks a year."
    )
    assert plain(steps.summary([WEAK, USUAL, gain])) == (
        "There 15 % (9 to 21) of its 120 doors have something out, against 14 % (10 to 18) in the firm. "
        "Of 3 pairs of a crew and a step, one is out more often than the firm beyond chance."
    )
    outs = [crew_out("K1", "bow", 30, step="frame"), crew_out("K4", "rack", 30, step="frame")]
    assert steps.practise("frame", [gain], outs) == "Practise with crew K1: mend bow (bow on 30 of 100 doors)."
    assert steps.practise("frame", [gain], [crew_out("K1", "bow", 0, step="frame")]).startswith(
        "Practise with crew K1: none of its doors is beyond a limit here"
    )
    unsure = replace(gain, priority_low=0.0)
    assert steps.begin_with([WEAK, USUAL, unsure]) == WEAK
    assert steps.begin_with([USUAL, unsure]) is None


def test_those_apart_that_are_not_named_are_all_counted():
    found = {"sill": [WEAK, weak_step("K5", 0.3, 0.08), USUAL], "frame": [replace(WEAK, step="frame")]}
    assert steps.overview_says(found) == "More often out than the firm: crew K4 in sill, crew K4 in frame and 1 more"
    assert steps.overview_says({"sill": [USUAL]}) == "No crew is more often out than the firm"


def test_no_crew_is_called_weak_whose_interval_holds_the_firm():
    said = plain(steps.headline([USUAL, weak_step("K2", 0.2, 0.1)]))
    assert (
        said
        == "No crew is out more often than the firm in any step; the step most often out is sill, 14 % (10 to 18) of "
        "240 doors."
    )


def test_both_the_own_and_the_expected_share_must_clear_the_firm():
    lucky = weak_step("K3", 0.4, 0.1, shrunk_share=0.2, shrunk_low=0.1, shrunk_high=0.3)
    assert lucky.side == 0
    assert steps.apart([lucky]) == []


def test_a_better_crew_is_asked_not_ranked():
    assert steps.better([BETTER, USUAL]) == "Crew K7 is less often out: ask what is done differently there."
    assert (
        plain(steps.step_says("sill", [BETTER, USUAL], [crew_out("K1", "bow", 3)]))
        == "Sill: 14 % (10 to 18) of 240 doors have something out; no crew is more often out than the firm"
    )


def test_one_crew_cannot_be_compared():
    assert plain(steps.headline([USUAL])) == "Most often out is the sill step, 14 % (10 to 18) of 120 doors."
    assert steps.summary([USUAL]) == "With one crew on record no crews can be compared."
    level = replace(USUAL, step="frame", firm_out_share=0.13, firm_out_low=0.1, firm_out_high=0.16)
    assert plain(steps.headline([USUAL, level])).endswith("of 120 doors; frame may be out as often.")
    assert "one crew on record" in steps.step_says("sill", [USUAL], [crew_out("K1", "bow", 3)])


def test_nothing_recorded_is_neither_weak_nor_strong():
    assert steps.headline([]) == "Nothing is recorded in any step of the work, so no step can be called weak or strong."
    assert steps.headline([weak_step("K1", 0.0, 0.0, doors=0, out_share=None)]).startswith("Nothing is recorded")


def test_practice_takes_the_acts_of_what_is_out_most_often():
    outs = [
        crew_out("K4", "end_dams", 30),
        crew_out("K4", "sill_level", 20),
        crew_out("K4", "bow", 5),
        crew_out("K1", "bow", 60),
    ]
    assert steps.practise("sill", [WEAK, USUAL], outs) == (
        "Practise with crew K4: mend end_dams (end dams on 30 of 100 doors); mend sill_level (sill level on 20 of "
        "100 doors)."
    )
    everyone = steps.practise("sill", [USUAL], outs)
    assert everyone.startswith("Practise with everyone: mend bow (bow on 65 of 200 doors); mend end_dams")
    outs.append(crew_out("K4", "rack", 0, step="frame"))
    assert steps.practise("frame", [USUAL], outs) == "Nothing in this step is out; keep it so."


def test_what_no_limit_is_held_against_is_not_called_good():
    outs = [crew_out("K4", "seal", 0, step="adjustment", is_step_judged=False)]
    never_out = [weak_step("K1", 0.0, 0.0, firm=0.0, step="adjustment", doors=100)]
    assert steps.step_says("adjustment", never_out, outs) == (
        "Adjustment: read on 100 doors, and no limit says yet when it is out"
    )
    assert steps.practise("adjustment", never_out, outs).startswith("No limit is in use here")


def test_below_ten_doors_no_step_is_called_out_or_good():
    few = [weak_step("K1", 1.0, 0.3, firm=1.0, doors=2)]
    assert steps.headline(few) == "Too few doors to tell: no step of the work is recorded on 10 doors yet."
    assert steps.step_says("frame", few, []) == "Frame: something is recorded on 2 doors, too few doors to tell"
    out = [crew_out("K1", "bow", 1, doors=1)]
    for outs in ([], out):
        assert steps.practise("sill", few, outs) == "What to practise: too few doors to tell."
    assert steps.practise("sill", [USUAL], out) == "What to practise: too few doors to tell."
    assert weak_step("K4", 1.0, 0.1, doors=9).side == 0
    assert weak_step("K4", 1.0, 0.1, doors=10).side == 1


def test_doors_of_crews_without_anything_out_count_too():
    outs = [crew_out("K1", "bow", 10), crew_out("K2", "bow", 0)]
    assert "bow on 10 of 200 doors" in steps.practise("sill", [USUAL], outs)


def test_less_than_a_door_year_gives_no_rate():
    month = month_of("2026-04", door_years=0.3, callbacks=0)
    assert rates.months_says([month]) == "Complete to April 2026: 0 callbacks in it, too few door-years for a rate"
    assert crew_rate("K1", door_years=0.9).per_100 is None


def test_two_crews_are_both():
    two = [WHOLE, crew_rate("K1"), crew_rate("K2")]
    says = "crews lie within what chance and the usual differences explain"
    assert rates.funnel_says(two) == f"Both {says}"
    assert rates.funnel_says([*two, crew_rate("K3")]) == f"All three {says}"


def test_a_name_that_says_crew_keeps_its_words():
    assert [crew_name(name) for name in ("K4", "Crew B", "team north", "Ann\u202ea")] == [
        "crew K4",
        "Crew B",
        "team north",
        "crew Ann a",
    ]


@given(st.lists(st.tuples(st.floats(0, 1), st.floats(0, 0.4)), min_size=1, max_size=6))
def test_no_step_sentence_tells_a_crew_apart_without_an_interval(shares):
    crews = [weak_step(f"K{n}", share, half) for n, (share, half) in enumerate(shares)]
    is_apart = any(share - half > 0.14 for share, half in shares)
    assert is_apart == ("more often out than the firm, " in steps.step_says("sill", crews, []))
    assert is_apart == steps.headline(crews).startswith("Begin with")


def test_the_rate_comes_with_interval_and_counts():
    found = [WHOLE, crew_rate("K1"), crew_rate("K2")]
    assert rates.headline(found) == "10 (7 to 14) callbacks per 100 door-years, from 80 callbacks in 800 door-years."
    assert rates.crews_apart(found) == "None of two crews is clearly apart from the others."


def test_a_crew_is_above_only_where_funnel_and_fair_interval_agree():
    above = crew_rate("K7", (1.7, 1.4, 2.1), funnel="above")
    only_funnel = crew_rate("K8", (1.2, 0.9, 1.6), funnel="above")
    only_interval = crew_rate("K9", (1.5, 1.1, 2.0))
    assert [rate.side for rate in (above, only_funnel, only_interval)] == [1, 0, 0]
    assert rates.crews_apart([WHOLE, above, only_funnel]) == "Crew K7 above the firm on doors like theirs."
    nothing = "On the same doors no crew is called back clearly more or less often"
    assert rates.fair_says([WHOLE, only_funnel, crew_rate("K1")]) == nothing
    assert (
        rates.fair_says([WHOLE, above])
        == "On the same doors, crew K7 is called back 1.7 times (1.4 to 2.1) as often as the firm"
    )


def test_a_crew_whose_interval_alone_leaves_the_firm_is_a_hint():
    high, low = crew_rate("K9", (1.5, 1.1, 2.0)), crew_rate("K2", (0.6, 0.4, 0.8))
    assert (high.side, high.hint, low.hint) == (0, 1, -1)
    assert rates.crews_apart([WHOLE, high, low, crew_rate("K1")]) == (
        "None of three crews is clearly apart from the others; perhaps crew K9 above and crew K2 below the firm."
    )
    assert rates.fair_says([WHOLE, high, low]).startswith(
        "A hint: on the same doors, crew K9 is called back 1.5 times (1.1"
    )
    assert rates.fair_do([WHOLE, high]).startswith("Put effort into the causes that all crews share")


def test_a_crew_below_the_firm_is_something_to_learn_from():
    below = crew_rate("K2", (0.5, 0.3, 0.8), funnel="below")
    assert rates.crews_apart([WHOLE, crew_rate("K1"), below]) == "Crew K2 below the firm on doors like theirs."
    assert rates.fair_do([WHOLE, below]).startswith("Ask what is done differently")


@pytest.mark.parametrize(
    ("all_rates", "expected"),
    [
        ([], "No door has been watched yet, so there is no callback rate."),
        ([crew_rate("all", None, rate=None)], "No door has been watched yet, so there is no callback rate."),
        (
            [crew_rate("all", None, door_years=0.4, callbacks=0)],
            "It is too early for a callback rate: 0 callbacks in less than one door-year.",
        ),
    ],
)
def test_without_time_at_risk_there_is_no_rate(all_rates, expected):
    assert rates.headline(all_rates) == expected
    assert rates.firm_rate(all_rates) == rates.crews_apart(all_rates) == ""


def test_the_trend_says_to_which_month_it_is_complete_and_claims_no_change():
    months = [month_of("2026-03"), month_of("2026-04"), month_of("2026-05", False), month_of("2026-06", False)]
    said = rates.months_says(months)
    assert (
        said == "Complete to April 2026: 9 callbacks in it, 9 (4 to 17) per 100 door-years; "
        "the two months after it are not complete"
    )
    assert not re.search(r"rise|fell|fall|improv|wors|up|down", said)
    assert "look better than they are" in rates.months_how(months)
    assert "look better than they are" not in rates.months_how(months[:2])
    assert rates.months_says(months[2:]) == "No month is complete yet"


def test_cost_is_said_with_the_number_of_callbacks_whose_cost_is_known():
    assert (
        rates.cost_says([WHOLE], FIRM)
        == "Known cost to date EUR 9,600, for 40 of 96 callbacks: EUR 240 each on average"
    )
    nameless = replace(FIRM, currency=None)
    assert rates.cost_says([WHOLE], nameless).startswith(
        "Known cost to date 9,600 (no currency is set; write it in fitback.toml), for 40"
    )
    assert rates.cost_says([crew_rate("all", None, cost_known=0)], FIRM) == (
        "The cost of none of 48 callbacks is known: write labour_rate or callback_cost into fitback.toml"
    )
    assert rates.cost_says([crew_rate("all", None, callbacks_all=0)], FIRM) == "No callback, no cost"


def test_the_three_counts_of_callbacks_each_say_what_they_are_of():
    said = rates.three_counts([WHOLE], FIRM)
    for words in ("reported: 461.", "whoever answers for them: 96; the cost is known for 40", "crews answer for: 80;"):
        assert words in said
    assert rates.three_counts([], FIRM) == ""


def test_unknown_responsibility_counts_with_the_crews():
    tallies = [Tally("installation", 60), Tally("unknown", 15), Tally("weather", 25)]
    assert plain(rates.others_say(tallies)) == "Crews do not answer for 25 % of 100 callbacks reported"
    assert plain(rates.others_say(tallies[:2])) == "Crews answer for 100 % of 75 callbacks reported"
    assert rates.others_say([]) == "No callback has been reported"


def test_the_lead_says_who_was_counted():
    assert (
        plain(who_was_counted(FIRM, [WHOLE]))
        == "1,512 doors of 2 crews, watched for 800 door-years, with 461 callbacks, to 30 June 2026."
    )
    assert plain(who_was_counted(FIRM, [])) == "1,512 doors of 2 crews, with 461 callbacks, to 30 June 2026."


def test_crews_without_any_callback_that_counts_are_not_compared():
    nobody = [WHOLE, crew_rate("K1", None, callbacks=0), crew_rate("K2", None, callbacks=0)]
    said = "no callback counts yet, so the crews cannot be compared"
    assert rates.crews_apart(nobody) == f"{said.capitalize()}."
    assert rates.funnel_says(nobody) == rates.fair_says(nobody) == said.capitalize()

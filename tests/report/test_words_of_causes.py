"""Sentences about causes and limits: the answer first, and never more than the interval beside it."""

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.report.rows.table_rows import Effect
from pipeline.report.words import causes, limits
from tests.report.samples import effect, limit_count, nothing, open_pair

CLAIMS = re.compile(r"stand out, |stands out:|comes back|most to gain|could be spared|begin", re.IGNORECASE)


def test_the_headline_names_the_cause_that_is_worth_most():
    other = effect(deviation="toe", words="toe and heel missing", fault_words="dropped leaf", avoidable_per_year=19.0)
    said = causes.headline([effect(), effect(deviation="toe2"), nothing(), other])
    assert said.startswith("Three causes stand out, first “toe and heel missing”: about 19 (7 to 15)")


def test_one_strong_cause_is_one():
    said = causes.headline([effect(), open_pair(deviation="x")])
    assert (
        said == "One cause stands out: “sill out of level”: about 11 (7 to 15) callbacks a year for stiff running "
        "go with it."
    )


def test_a_strong_cause_whose_worth_may_be_nothing_is_told_by_its_ratio():
    said = causes.headline([effect(avoidable_low=-1.0)])
    assert (
        said == "One cause stands out: “sill out of level”: stiff running comes back 2.2 times (1.5 to 3.3) "
        "as often with it."
    )


def test_a_hint_is_called_a_hint():
    said = causes.headline([effect(evidence="suggestive", contrast_ratio=1.6, contrast_low=1.1, contrast_high=2.3)])
    assert said.startswith(
        "No cause is shown for certain yet; the records hint at one, first sill out of level → stiff running, 1.6"
    )
    assert causes.sizes_says([effect(evidence="suggestive")]).startswith("A hint: ")


@pytest.mark.parametrize(
    ("effects", "expected"),
    [
        ([], "No fault has been called back on a door with records, so nothing can be tied to a cause yet."),
        (
            [open_pair()],
            "The records cannot say yet what causes callbacks: no pair of a deviation and a fault has enough of them.",
        ),
        ([nothing()], "Nothing measured can be tied to the callbacks: none of 1 pair with enough records stands out."),
    ],
)
def test_where_nothing_is_shown_the_headline_says_why(effects, expected):
    assert causes.headline(effects) == expected


def test_evidence_that_contradicts_its_interval_is_not_claimed():
    # Should a model ever call a pair strong whose interval holds 1, the page does not repeat it.
    for contradiction in (
        effect(contrast_low=0.9),
        effect(contrast_low=None),
        effect(contrast_ratio=0.4, contrast_low=0.2, contrast_high=0.8),
    ):
        assert not contradiction.is_claimed
        assert not CLAIMS.search(causes.headline([contradiction]))
        assert causes.ranked_says([contradiction]) == "Nothing clearly comes first yet"
        assert causes.sizes_says([contradiction]) == "No fault comes back clearly more often with any deviation"


def test_a_ratio_in_the_better_direction_asks_for_a_look_at_the_records():
    odd = effect(evidence="suggestive", contrast_ratio=0.4, contrast_low=0.2, contrast_high=0.8)
    assert causes.unexpected([odd, effect(), nothing()]) == [odd]


def test_a_variant_is_never_a_cause():
    assert causes.headline([effect(role="variant")]).startswith("The records cannot say yet")
    assert causes.claimed([effect(role="variant")], "strong") == []


def test_what_is_compared_is_said_for_checks_and_for_readings():
    assert causes.contrast(effect()) == "at 4.2 mm, against 0.8 mm"
    assert causes.contrast(effect(contrast_from=0.00016)) == "at 4.2 mm, against 0 mm"
    assert causes.contrast(effect(is_check=True)) == "where the check failed, against where it passed"
    of_leaves = causes.contrast(effect(is_check=True, contrast_from=0.0, contrast_to=0.28))
    assert of_leaves == "where the check failed on the usual 28\u00a0% of a door's parts, against where it passed"
    assert causes.contrast(effect(unit="share", contrast_from=0.0, contrast_to=1.0)) == "at 1, against 0"


def test_what_it_would_spare_is_not_claimed_when_it_may_be_nothing():
    assert causes.spared(effect()) == "about 11 (7 to 15) callbacks a year could be spared with every door at its limit"
    assert causes.spared(effect(avoidable_low=-2.0)).startswith(
        "how many callbacks that is a year is not clear: 11 (−2 to 15)"
    )
    assert causes.spared(effect(avoidable_low=None)) == "how many callbacks that is a year cannot be told yet"


def test_a_cause_that_hardly_any_door_has_is_said_to_be_worth_hardly_anything():
    rare = effect(avoidable_low=0.001, avoidable_per_year=0.004, avoidable_high=0.006)
    assert causes.spared(rare).startswith("hardly a callback a year is at stake")
    assert causes.ranked_says([rare]) == "Nothing clearly comes first yet"


def test_the_reasons_why_nothing_can_be_told_are_counted():
    pairs = [
        open_pair(recorded_share=0.1),
        open_pair(events=4),
        open_pair(events=9, fault="x"),
        open_pair(note="cannot be told apart from sill bow"),
        open_pair(note="the doors are too alike or the callbacks too few"),
        nothing(),
    ]
    counts = dict(causes.why_not(pairs))
    assert sum(counts.values()) == 5
    assert counts["the fault came back fewer than 10 times on doors with the deviation recorded"] == 2
    assert counts["the deviation is recorded on fewer than 20\N{NO-BREAK SPACE}% of doors"] == 1


def test_all_pairs_are_accounted_for_in_the_lead():
    pairs = [effect(), effect(evidence="suggestive"), nothing(), nothing(), open_pair()]
    said = causes.what_was_tried(pairs)
    assert said == (
        "Of 5 pairs of a deviation and a fault 1 shows strong evidence, 1 a hint and 2 nothing; for 1 the records are "
        "too few to tell."
    )
    assert causes.what_was_tried([]) == ""


def test_the_base_of_what_could_be_spared_is_named():
    assert causes.base_of([effect()]) == (
        "Counted against the last year of the log, which brought 55 callbacks for stiff running a year that crews "
        "answer for: about 11 (7 to 15) of them go with “sill out of level”."
    )
    assert causes.base_of([effect(attributable_share=0.0)]) == ""
    assert causes.base_of([nothing()]) == ""


ENDS = st.floats(0.05, 20)


@st.composite
def any_effect(draw: st.DrawFn) -> Effect:
    low, ratio, high = sorted(draw(st.tuples(ENDS, ENDS, ENDS)))
    least, worth, most = sorted(draw(st.tuples(*[st.floats(-20, 40)] * 3)))
    return effect(
        evidence=draw(st.sampled_from(["strong", "suggestive", "none", "too_few"])),
        role=draw(st.sampled_from(["cause", "variant"])),
        contrast_low=low, contrast_ratio=ratio, contrast_high=high,
        avoidable_low=least, avoidable_per_year=worth, avoidable_high=most,
    )  # fmt: skip


@settings(max_examples=300)
@given(st.lists(any_effect(), max_size=6))
def test_no_sentence_claims_a_difference_that_no_interval_shows(effects):
    shown = [
        e for e in effects if e.role == "cause" and e.evidence in ("strong", "suggestive") and (e.contrast_low or 0) > 1
    ]
    sentences = [causes.headline(effects), causes.ranked_says(effects), causes.sizes_says(effects)]
    if not shown:
        assert not any(re.search(r"stand out, |stands out:|times \(|Most to gain", text) for text in sentences)
    for text in sentences:
        for low in re.findall(r"times \(([\d.]+) to", text):
            assert float(low) > 1


def test_the_limit_most_often_passed_is_named_with_its_doors():
    said = limits.limits_says([limit_count(), limit_count("twist", out=5, within=85)])
    assert said.replace("\N{NO-BREAK SPACE}", " ") == (
        "Most often out is plumb: 20 % (13 to 29) of 100 doors with readings; for 10 the instrument cannot tell"
    )
    level = [limit_count(), limit_count("twist", out=19, within=71), limit_count("bow", out=12, within=78)]
    assert limits.limits_says(level).endswith("; twist and bow may be out as often")
    assert limits.limits_says([*level, limit_count("sag", out=15, within=75)]).endswith(
        "; twist, sag and 1 more may be out as often"
    )
    assert limits.limits_says([limit_count(out=0, within=90)]).startswith(
        "No limit is passed for certain on any of 100 doors"
    )
    assert limits.limits_says([limit_count(not_recorded=120, within=0, out=0, undecided=0)]).startswith(
        "No door has a reading"
    )


def test_below_ten_doors_no_limit_is_most_often_out():
    few = limit_count(within=0, out=1, undecided=0, doors=1, not_recorded=0)
    assert limits.limits_says([few]).startswith("How doors stand against limits: too few doors to tell")
    assert limits.other_editions([few, limit_count("other", status="for comparison")]) == []


def test_another_edition_is_set_beside_the_one_in_use():
    other = limit_count(
        "plumb, warranty",
        status="for comparison",
        source="warranty practice",
        edition="2018",
        out=2,
        within=98,
        undecided=0,
    )
    [said] = limits.other_editions([limit_count(), other])
    assert said.replace("\N{NO-BREAK SPACE}", " ") == (
        "“plumb, warranty” (warranty practice, edition 2018) finds 2 % (1 to 7) out of 100 doors, 0 undecided; "
        "“plumb”, the one in use, finds 20 % (13 to 29) out of 100 doors, 10 undecided."
    )
    assert limits.other_editions([other]) == []


def test_it_is_said_whether_findings_stand_without_records_in_doubt():
    assert causes.without_doubtful([effect()]) == ""
    stands = effect(doubted_doors=104, ratio_without_doubtful=1.8)
    falls = effect(deviation="sill_bow", words="sill bowed", doubted_doors=104, ratio_without_doubtful=0.9)
    gone = effect(deviation="sill_bow", words="sill bowed", doubted_doors=104, evidence="suggestive")
    doubted = "The readings of 104 doors are in doubt (sheet 5, Records)"
    assert (
        causes.without_doubtful([stands])
        == f"{doubted}; with them left out the one finding stands in the same direction."
    )
    left = f"{doubted}; with them left out one of 2 findings stands"
    assert causes.without_doubtful([stands, falls]) == f"{left}; turned round: sill bowed → stiff running."
    few = f"{left}; too few doors left to tell: sill bowed → stiff running."
    assert causes.without_doubtful([stands, gone]) == few
    assert causes.without_doubtful([nothing(doubted_doors=104)]) == f"{doubted}; no cause is claimed from them."

"""Step to fault, what is missing for an answer, and doors to look at: the sentences claim no more than the evidence."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.report.rows.example_rows import ExampleDoor
from pipeline.report.words import examples, flow, needed
from tests.report.samples import effect, nothing, open_pair, plain
from tests.report.test_words_of_causes import any_effect


def hint(**changed):
    return effect(**({"evidence": "suggestive", "fault": "draught", "fault_words": "draught"} | changed))


def test_what_is_traced_rests_on_strong_evidence_alone():
    claimed = [effect(), hint(step="frame")]
    assert flow.says(claimed, {"stiff_running", "draught", "noise", "binding"}) == (
        "One fault is traced to one step of the work; a hint only for one more; no cause is shown for two more"
    )
    assert flow.says(claimed, {"stiff_running", "draught"}).endswith("a hint only for one more")


def test_hints_alone_trace_nothing():
    assert (
        flow.says([hint()], {"draught", "noise"})
        == "No fault is traced to a step of the work yet; there are hints for one"
    )
    assert flow.do([hint(), hint(fault="noise")]) == ""


def test_the_step_with_most_faults_is_named_once_there_are_two():
    other = effect(fault="binding", fault_words="binding")
    assert (
        flow.do([effect(), other])
        == "If these are causes, a sill step done better helps against two faults: binding and stiff running."
    )
    assert flow.do([effect(), hint()]) == ""


def test_the_nearest_question_comes_first_and_what_the_trade_expects_before_others():
    far, near = open_pair(doors=100, doors_needed=2345), open_pair(doors=100, doors_needed=187, fault="draught")
    other = open_pair(doors=100, doors_needed=101, is_expected=False)
    assert needed.nearest([far, other, near, nothing()]) == [near, far]
    assert needed.nearest([other]) == [other]
    assert plain(needed.says([near])).endswith("about 87 more doors with it recorded")
    assert far.doors_missing == 2200


@pytest.mark.parametrize(
    "asked", [open_pair(doors_needed=None), open_pair(role="variant", doors_needed=2000), nothing()]
)
def test_a_question_that_more_doors_would_not_answer_is_left_out(asked):
    assert needed.nearest([asked]) == []


@given(st.lists(any_effect(), max_size=6))
def test_no_fault_is_traced_without_strong_evidence_in_the_worse_direction(effects):
    claimed = [effect for effect in effects if effect.is_claimed and effect.role == "cause"]
    if claimed:
        said = flow.says(claimed, {effect.fault for effect in effects})
        is_strong = any(effect.evidence == "strong" and (effect.contrast_low or 0) > 1 for effect in claimed)
        assert is_strong == ("traced to one step" in said)
        assert is_strong == ("No fault is traced" not in said)


def door(kind: str, **changed) -> ExampleDoor:
    values = {
        "fault_words": "draught", "words": "sill out of level",
        "unit": "mm", "is_check": False, "kind": kind, "pair": 1, "install_id": "D1", "value": 3.456,
        "fitted_on": date(2024, 1, 1), "door_years": 1.5, "reported_on": None, "doors_alike": 17,
    }  # fmt: skip
    return ExampleDoor(**(values | changed))


def test_both_kinds_are_counted_and_a_cause_that_never_came_back_is_not_hidden():
    both = [door("came back"), door("did not", doors_alike=74), door("came back", pair=2, doors_alike=9)]
    assert plain(examples.says(both)) == (
        "Of 91 doors that show “sill out of level” the most, 17 came back with draught: five of each kind to look at"
    )
    assert " 0 came back" in plain(examples.says([door("did not")]))


def test_no_more_doors_are_promised_than_there_are():
    few = [door("came back", doors_alike=2), door("did not", doors_alike=74)]
    assert plain(examples.says(few)).endswith("up to five of each kind to look at")
    assert plain(examples.says([door("did not")])).endswith("up to five of each kind to look at")


def test_how_much_a_door_shows_is_in_its_unit_or_the_share_that_failed():
    assert examples.value(door("did not")) == "3.5 mm"
    assert plain(examples.value(door("did not", is_check=True, value=0.4))) == "failed on 40 %"
    assert examples.value(door("did not", is_check=True, value=1.0)) == "failed"

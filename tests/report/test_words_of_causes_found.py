"""The table that the causes sheet opens with: fault, root cause and limit, no more than the rows bear."""

from pipeline.report.sheets.causes_found import MOST, found_table
from pipeline.report.words import causes_found
from tests.report.samples import effect, nothing, open_pair
from tests.report.test_words_of_curves import advice

BY_PAIR = {("stiff_running", "sill_level_error"): advice()}
LEAK = {"fault": "water_ingress", "fault_words": "water ingress"}


def test_each_line_holds_fault_cause_size_worth_and_limit():
    [table] = found_table([effect(), nothing(fault="draught"), open_pair(fault="noise")], BY_PAIR)
    assert table.is_open
    assert table.says == "One fault and one root cause, with the limit of each: no limit to move"
    assert table.rows == (
        ("stiff running", "sill out of level", "2.2 times (1.5 to 3.3)", "65 on 1,285 doors", "11 (7 to 15)", "3 mm",
         "1.2 mm (1.1 to 1.5)", "keep"),
    )  # fmt: skip


def test_faults_stand_together_and_the_one_with_most_to_spare_first():
    most = effect(deviation="tilt", avoidable_per_year=17.0, **LEAK)
    less = effect(deviation="dams", avoidable_per_year=2.0, **LEAK)
    assert causes_found.shown([less, effect(), most]) == [most, less, effect()]


def test_a_check_has_no_curve_and_a_limit_to_move_is_counted():
    moved = advice(advice="tighten")
    rows = {("stiff_running", "sill_level_error"): moved}
    assert causes_found.says([effect(), effect(deviation="toe")], rows).endswith("one limit to move")
    assert causes_found.cells(effect(), moved)[-1] == "tighten"
    assert causes_found.first_limit([effect()], rows) == (
        "Its limit, 3 mm: tighten, as 1.5 times the risk begins at 1.2 mm (1.1 to 1.5)."
    )
    assert causes_found.first_limit([effect()], BY_PAIR) == "Its limit, 3 mm: keep."
    assert causes_found.first_limit([effect()], {}) == "No limit is in use for it."
    assert causes_found.first_limit([effect(is_check=True)], {}) == "Its limit: passed on every door."
    assert causes_found.first_limit([nothing()], {}) == ""
    assert causes_found.cells(effect(is_check=True), None)[-3:] == ("passed on every door", "a check, no curve", "keep")
    assert causes_found.cells(effect(), None)[-3:] == ("none", "no curve", "")


def test_only_limits_in_the_table_are_counted_and_each_once():
    """Before, a limit that two faults share was two, and one of a pair that no line shows was counted."""
    moved = advice(advice="tighten")
    rows = {(fault, "sill_level_error"): moved for fault in ("stiff_running", "water_ingress")}
    assert causes_found.says([effect(), effect(**LEAK)], rows).endswith("one limit to move")
    assert causes_found.says([effect()], {("noise", "head_deflection"): moved}).endswith("no limit to move")


def test_what_is_only_hinted_at_is_called_possible_and_nothing_makes_no_table():
    hint = effect(evidence="suggestive")
    assert found_table([hint], {})[0].says.startswith("One fault and one possible root cause")
    assert causes_found.shown([hint, effect(deviation="toe")]) == [effect(deviation="toe")]
    assert found_table([nothing(), open_pair()], {}) == []


def test_of_very_many_the_first_stand_there_and_the_rest_are_told():
    [table] = found_table([effect(deviation=f"d{n}") for n in range(MOST + 3)], {})
    assert len(table.rows) == MOST
    assert f"Here stand the first {MOST} of {MOST + 3}. Counted against the last year of the log" in table.how

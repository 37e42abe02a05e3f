"""Sentences about what came in, and the letter that puts everything together."""

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from pipeline.ingest.history import rejections
from pipeline.report.rows.intake_rows import DataCheck, FileAccount, Reason
from pipeline.report.rows.table_rows import Firm, Tally
from pipeline.report.words import intake, letter
from pipeline.report.words.intake import COMES_IN_BY_ITSELF
from tests.report.samples import crew_rate, effect, nothing, open_pair, plain, recorded, weak_step

ACCOUNT = [
    FileAccount("installs", "installs.csv", "taken in", None, 100, 96, 3, 1),
    FileAccount(None, "photos.zip", "not read", "not a file of records", 0, 0, 0, 0),
]
FIRM = Firm("Invented", "EUR", date(2026, 6, 30), None, 5, 1, date(2026, 6, 1), date(2026, 6, 5), 0, "run", True)
WHOLE = crew_rate("all", None, callbacks=80, door_years=800.0)


def test_the_account_balances_in_its_own_sentence():
    assert (
        plain(intake.headline(ACCOUNT))
        == "3 rows wait to be mended, 3 % of 100 rows read: 96 taken in + 3 set aside + 1 exact repeat."
    )
    clean = [FileAccount("installs", "installs.csv", "taken in", None, 5, 5, 0, 0)]
    assert (
        intake.headline(clean) == "All 5 rows read are in, and none waits to be mended: 5 taken in + 0 exact repeats."
    )
    assert intake.headline([]) == "No row has been read."


def test_files_that_were_not_taken_in_are_named():
    assert intake.files_sentence(ACCOUNT) == "1 file taken in; not taken in: photos.zip."


def test_the_reason_that_sets_most_aside_is_named_with_all_that_were():
    reasons = [Reason("readings, value", "this is not a number", 30), Reason("checks, outcome", "not known", 12)]
    assert intake.reasons_say(reasons) == (
        "30 of 42 lines set aside are of one kind, such as readings, value: this is not a number"
    )


def test_reasons_of_one_line_each_are_not_called_one_kind():
    reasons = [Reason("readings, value", "no number", 1), Reason("checks, outcome", "not known", 1)]
    assert intake.reasons_say(reasons) == (
        "Each of 2 lines set aside has a reason of its own, such as readings, value: no number"
    )


def test_one_is_one_and_a_handful_has_no_percentage():
    assert intake.linked_sentence([Tally("install_id", 3), Tally("none", 1)]) == (
        "3 of 4 callbacks are linked to a door; 1 is not and counts in no rate."
    )
    assert intake.coded_sentence([Tally("keyed", 3), Tally("unclear", 1)]).startswith("1 has no known fault: it counts")
    assert intake.coded_sentence([Tally("keyed", 3), Tally("note", 1)]) == "For 1 the fault was read from the note."


def test_none_is_said_of_nothing_where_every_deviation_is_recorded_somewhere():
    said = plain(intake.recorded_says([recorded("a", 90), recorded("b", 10)]))
    assert said == "1 of 2 deviations is recorded on 20 % of 100 doors or more"


def test_rows_that_wait_for_a_door_are_mended_by_the_door():
    waiting = Reason("checks, install_id", "door D1 is set aside (installs.csv, row 2); " + COMES_IN_BY_ITSELF, 9)
    slip = Reason("readings, unit", "'inchs' is not a unit we know; write mm", 12)
    assert intake.mend_first([waiting, slip]).startswith("Mend the rows of the doors first")
    assert intake.mend_first([slip, waiting]).startswith("Mend the longest bar first")
    # these are the words that the intake gives for it
    assert COMES_IN_BY_ITSELF in Path(rejections.__file__).read_text(encoding="utf-8")


def test_what_is_never_recorded_says_which_set_is_counted():
    shares = [recorded("a", 0), recorded("b", 0, role="variant"), recorded("c", 90)]
    assert intake.recorded_says(shares).endswith(
        "2 on none (1 possible cause among them; the rest are signs and other ways of measuring)"
    )
    assert "Never recorded, so never judged, 1 of 2 possible causes: a." in letter.not_known([], [], [], shares)


def test_a_check_is_done_and_a_reading_is_taken():
    thin = [recorded("sill_bow", 10), recorded("drainage_not_clear", 10, is_check=True)]
    [act] = letter.next_acts(FIRM, [], [], [], thin)
    assert act.why == (
        "Take the readings for “sill bow”. Do the checks for “drainage not clear”. On every door, good ones too."
    )


def test_unlinked_callbacks_are_said_to_count_in_no_rate():
    said = intake.linked_sentence([Tally("install_id", 95), Tally("none", 5)])
    assert plain(said) == "95 of 100 callbacks are linked to a door; 5 (5 %) are not and count in no rate."
    assert intake.linked_sentence([Tally("job_no", 3)]) == "All 3 callbacks are linked to a door."
    assert intake.linked_sentence([]) == "No callback has been reported."


def test_callbacks_without_a_fault_are_said_to_explain_nothing():
    said = intake.coded_sentence([Tally("keyed", 70), Tally("unclear", 10), Tally("note", 20)])
    assert plain(said) == (
        "For 20 (20 %) the fault was read from the note. 10 (10 %) have no known fault: they count in the rates, "
        "but can be tied to no cause."
    )
    assert intake.coded_sentence([Tally("keyed", 90)]) == "Every callback has its fault keyed."


def test_the_heading_of_the_record_tests_counts_what_was_found():
    assert intake.credibility_says(["plausible", "too_few"]) == "No crew's readings look other than measured"
    assert intake.credibility_says(["doubtful", "rounded", "rounded", "plausible"]) == (
        "Of the crews' readings, 1 finding in doubt and 2 records rounded"
    )


def test_checks_and_recorded_shares_are_counted():
    checks = [DataCheck("a", "installs", 10, 2, "2 doors"), DataCheck("b", "installs", 10, 0, "none")]
    assert intake.checks_says(checks) == "One of 2 checks found something odd in the records"
    assert intake.checks_says(checks[1:]) == "1 check of the records found nothing odd"
    many = DataCheck(
        "a", "readings", 82060, 1663, "1663 of 82060 readings carry no date, door between 1,500 and 3,500 mm."
    )
    assert intake.check_sentence(many) == ("1,663 of 82,060 readings carry no date, door between 1,500 and 3,500 mm.")


@pytest.mark.parametrize(
    ("outcomes", "sentence"),
    [
        (["met", "nothing to check"], "None of 2 expectations on the records is missed"),
        (["not met", "met"], "One of 2 expectations on the records is not met"),
        (
            ["not met", "not met", "not evaluated"],
            "Two of 3 expectations on the records are not met; one could not be evaluated",
        ),
    ],
)
def test_expectations_not_met_and_not_evaluated_are_told_apart(outcomes, sentence):
    assert intake.expectations_say(outcomes) == sentence
    shares = [recorded("a", 90), recorded("b", 10), recorded("c", 0)]
    assert (
        plain(intake.recorded_says(shares))
        == "1 of 3 deviations is recorded on 20 % of 100 doors or more, 1 on none (1 possible cause among them)"
    )
    assert "no cause can be looked for" in intake.recorded_says(shares[1:])
    assert intake.recorded_says([]) == "No door is on record"


def test_the_letter_begins_with_the_first_cause():
    assert letter.headline(FIRM, [effect()], [WHOLE], []) == (
        "Begin here: level the sill along its length before fixing it. That could spare about 11 (7 "
        "to 15) callbacks a year."
    )


def test_without_a_cause_the_letter_says_so():
    said = letter.headline(FIRM, [nothing(), open_pair()], [WHOLE], [])
    assert said == "It is too early to say anything of causes: 5 doors, 0 callbacks."
    busy = Firm("Invented", "EUR", None, None, 300, 2, None, None, 80, None, True)
    assert letter.headline(busy, [nothing()], [WHOLE], []).endswith(
        "what causes them the records cannot say for certain yet."
    )


def test_the_letter_puts_callbacks_without_a_door_before_a_rate_that_they_falsify():
    lost = [Tally("none", 30), Tally("install_id", 50)]
    busy = Firm("Invented", "EUR", None, None, 300, 2, None, None, 80, None, True)
    assert plain(letter.headline(busy, [nothing()], [WHOLE], lost)) == (
        "Begin with the paper: 50 of 80 callbacks are linked to a door; 30 (38 %) are not and count in no rate."
    )


def test_what_to_do_next_takes_each_cause_once_and_ends_with_what_to_record():
    effects = [
        effect(),
        effect(fault="draught", fault_words="draught", avoidable_per_year=3.0),
        effect(deviation="x", words="x", do="do x"),
    ]
    acts = letter.next_acts(
        FIRM, effects, [weak_step("K4", 0.4, 0.05), weak_step("K1", 0.1, 0.05)], [], [recorded("bow", 10)]
    )
    assert [act.lead for act in acts] == [
        "Level the sill along its length before fixing it.",
        "Do x.",
        "Practise the sill step.",
        "Record more.",
    ]
    assert [act.sheet for act in acts] == ["quality.html", "quality.html", "training.html", "records.html"]


def test_with_nothing_known_the_letter_asks_for_records():
    [act] = letter.next_acts(FIRM, [], [], [], [])
    assert (act.lead, act.sheet) == ("Record.", "records.html")
    assert letter.not_known([], [], [], []) == [
        "Which deviation causes which fault: no callback can be set against a reading or a check."
    ]


def test_what_is_not_known_names_what_was_never_recorded_and_what_was_set_aside():
    said = [
        plain(text)
        for text in letter.not_known([open_pair(events=3)], ACCOUNT, [Tally("none", 1)], [recorded("sill_bow", 0)])
    ]
    assert said[0].startswith(
        "For 1 of 1 pair of a deviation and a fault there are too few records, mostly because the fault came back"
    )
    assert said[1:] == [
        "Never recorded, so never judged, 1 of 1 possible cause: sill bow.",
        "0 of 1 callback are linked to a door; 1 is not and counts in no rate.",
        "What the 3 rows set aside (3 % of those read) would add.",
    ]


def test_the_steps_with_a_shown_cause_are_named_in_order():
    effects = [effect(step="glazing", step_order=5, deviation="g"), effect()]
    assert letter.steps_says(effects) == "Callbacks are seen to begin in two steps of the work: sill and glazing"
    assert letter.steps_says([nothing()]) == "No step of the work is shown to bring callbacks yet"
    assert letter.step_summary([open_pair()]) == "too few to tell, 1 pair"
    assert letter.step_summary([nothing(), open_pair()]) == "nothing shown, 1 of 2 pairs answered"


def test_without_a_callback_log_the_letter_asks_for_it_and_tells_no_rate():
    silent = replace(FIRM, has_callback_log=False)
    assert letter.headline(silent, [], [WHOLE], []) == (
        "Begin with the callbacks: 5 doors on record, and no callback log beside them."
    )
    [act] = letter.next_acts(silent, [], [], [], [])
    assert act.lead == "Bring the callbacks."
    assert "callbacks.csv" in act.why

"""Answers to choose from with a box each: the one whose box is ticked is the answer."""

import pytest

from pipeline.ingest.texts.words import ticked_in


@pytest.mark.parametrize(
    ("text", "answer"),
    [
        ("☑ Yes  ☐ No", "Yes"), ("☐ Yes ☒ No", "No"), ("Yes ☐ No ☑", "No"), ("[x] Pass [ ] Fail [ ] N/A", "Pass"),
        ("☐ Yes ☐ No", None), ("☑ Yes ☑ No", None), ("☑", None), ("☑ done", None), ("Yes", None), ("", None),
        ("☐ Yes ☑", None),
    ],
)  # fmt: skip
def test_the_answer_is_the_one_that_is_ticked(text, answer):
    assert ticked_in(text) == answer


def test_a_ticked_box_is_taken_in_and_one_that_none_ticks_is_not(firm):
    firm.write("checks.csv", "install_id,check,outcome\nD1,sill_bedded,☑ Yes ☐ No\nD1,drainage_clear,☐ Yes ☐ No\n")
    firm.take_in()
    assert firm.ask('SELECT "check", outcome FROM checks') == [("sill_bedded", "pass")]
    assert firm.set_aside() == [("checks.csv", 3, "outcome", "☐ Yes ☐ No", "row")]

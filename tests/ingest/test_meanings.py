"""A word of one's own is answered with the known words that mean it, and with what they mean."""

import pytest

from pipeline.catalogue import load_catalogue
from pipeline.ingest.texts.meanings import word_meanings
from pipeline.ingest.texts.words import WordList, word_lists

CATALOGUE = load_catalogue()


def problem(name: str, text: str) -> str:
    words = WordList(name, word_lists(CATALOGUE)[name], word_meanings(CATALOGUE).get(name))
    return words.judge(text)[1]


@pytest.mark.parametrize(
    ("name", "text", "hint"),
    [
        ("measures", "sill level", "write sill_height (height of the sill over a datum); README lists the words"),
        ("measures", "gap under leaf", "write threshold_gap (gap under a leaf); "),
        (
            "measures",
            "jamb plumb",
            "write jamb_edge (jamb against a plumb line, in the plane of the door) or jamb_face",
        ),
        ("measures", "frame_widht", "write frame_width (width of the frame); "),
        ("faults", "sticks", "write binding (sticks or rubs); "),
        ("checks", "toe & heel", "write toe_and_heel (fail: toe and heel missing or on the wrong diagonal); "),
        ("measures", "x", "fitback knows 23 measures, none is near; README lists the words"),
    ],
)
def test_a_hint_names_what_is_meant(name, text, hint):
    assert f"is not one of the known {name}; {hint}" in problem(name, text)


def test_short_lists_are_named_whole_and_need_no_meaning():
    assert problem("outcomes", "yes").endswith("; write pass, fail or not_applicable")


def test_every_measure_check_and_fault_says_what_it_means():
    meanings = word_meanings(CATALOGUE)
    assert all(set(meanings[name]) == set(word_lists(CATALOGUE)[name]) for name in meanings)

"""Lines of a terminal: none too long, no word lost, columns kept apart."""

import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.errors import visible
from pipeline.terminal import cut, folded, line_width, shown, shows_colour


@given(st.lists(st.text("abcdefgh", min_size=1, max_size=12), min_size=1, max_size=60), st.integers(40, 120))
def test_folding_loses_no_word_and_keeps_to_the_width(words, width):
    lines = folded(" ".join(words), width)
    assert " ".join(lines).split() == words
    assert all(len(line) <= width for line in lines)


def test_what_follows_is_set_in_under_its_column():
    line = "  name   text   " + "what it means in words " * 4
    first, second, *_ = folded(line.rstrip(), 50)
    assert first == "  name   text   what it means in words what it"
    assert second.startswith(" " * 16 + "means")


def test_a_word_longer_than_the_line_stays_whole():
    path = "/a" * 60
    assert folded(f"Pages: {path} and more words after it", 40)[1].strip() == path or path in folded(path, 40)[0]
    assert any(path in line for line in folded(f"Pages:  {path}", 40))


def test_a_line_is_cut_only_where_it_must_be():
    assert cut("short", 10) == "short"
    assert cut("a longer line", 10) == "a longer …"
    assert cut("a longer line", None) == "a longer line"


@pytest.mark.parametrize(
    ("set_to", "expected"),
    [
        ({}, False),
        ({"FORCE_COLOR": "1"}, True),
        ({"FORCE_COLOR": "1", "NO_COLOR": "1"}, False),
        ({"NO_COLOR": ""}, False),
    ],
)
def test_colour_in_a_pipe_is_only_what_is_asked_for(monkeypatch, set_to, expected):
    for name in ("NO_COLOR", "FORCE_COLOR"):
        monkeypatch.delenv(name, raising=False)
    for name, value in set_to.items():
        monkeypatch.setenv(name, value)
    assert shows_colour(io.StringIO()) is expected
    assert line_width(io.StringIO()) is None


def test_no_name_steers_the_terminal_or_turns_a_line_round():
    hostile = "Door D-1\x1b[2J\x1b]0;title\x07 \u202e2-D \u2067x\r\nRead 5 rows: all well\u2028end"
    for width in (None, 40):
        lines = list(shown([hostile], width))
        assert all(sign.isprintable() for line in lines for sign in line)
    assert len(list(shown([hostile], None))) == 1  # what was written in a name makes no line of its own
    plain = "Crew Łódź: 4 × 3 mm, “sill” → 日本"
    assert visible(plain) == plain

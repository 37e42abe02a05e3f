"""Words in a drawing keep to their room, whatever they are made of."""

from hypothesis import given
from hypothesis import strategies as st

from pipeline.report.drawing.lettering import fitted, width, without_common_word, wrapped
from pipeline.report.numbers import as_name


def test_what_fits_stays_and_what_does_not_is_cut():
    assert fitted("sill bow", 200) == "sill bow"
    assert fitted("sill not supported along its full length", 150) == "sill not supported al…"
    assert fitted(None, 50) == ""


def test_the_word_that_all_names_share_is_left_out_where_room_is_short():
    assert without_common_word(["Crew Ash", "Crew Fir Tree"]) == ["Ash", "Fir Tree"]
    for names in (["Crew Ash", "Fir"], ["Crew"], ["Crew Ash"], ["K1", "K2"], ["", "Crew Ash"], []):
        assert without_common_word(names) == names


@given(st.text(), st.floats(20, 400))
def test_no_text_takes_more_than_its_room(text, room):
    assert width(fitted(text, room)) <= room


@given(st.text(), st.floats(20, 400), st.integers(1, 3))
def test_no_line_takes_more_than_its_room_and_nothing_is_lost_that_fits(text, room, most):
    lines = wrapped(text, room, most)
    assert 1 <= len(lines) <= most
    assert all(width(line) <= room for line in lines)
    if not any(line.endswith("…") for line in lines):
        assert " ".join(lines).split() == as_name(text).split()


def test_a_long_name_is_broken_between_words():
    long = "fixings not snug, or tightened until the frame bends"
    assert wrapped(long, 312) == ["fixings not snug, or tightened until the frame", "bends"]
    assert wrapped(long, 150) == ["fixings not snug, or", "tightened until the fr…"]
    assert wrapped("", 50) == [""]


@given(st.text(min_size=1))
def test_longer_text_is_never_narrower(text):
    assert width(text) > width(text[:-1])

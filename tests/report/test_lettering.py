"""Words in a drawing keep to their room, whatever they are made of."""

from hypothesis import given
from hypothesis import strategies as st

from pipeline.report.lettering import fitted, width


def test_what_fits_stays_and_what_does_not_is_cut():
    assert fitted("sill bow", 200) == "sill bow"
    assert fitted("sill not supported along its full length", 150) == "sill not supported al…"
    assert fitted(None, 50) == ""


@given(st.text(), st.floats(20, 400))
def test_no_text_takes_more_than_its_room(text, room):
    assert width(fitted(text, room)) <= room


@given(st.text(min_size=1))
def test_longer_text_is_never_narrower(text):
    assert width(text) > width(text[:-1])

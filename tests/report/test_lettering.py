"""Words in a drawing keep to their room, whatever they are made of."""

from hypothesis import given
from hypothesis import strategies as st

from pipeline.report.lettering import fitted, width, without_common_word


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


@given(st.text(min_size=1))
def test_longer_text_is_never_narrower(text):
    assert width(text) > width(text[:-1])

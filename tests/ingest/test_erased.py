"""What is erased by texts goes wherever it stands and takes nothing else with it; marks keep what is alike alike."""

import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.ingest.history.store import ERASED, open_store
from pipeline.ingest.landing.erased import PERSON, ROW, Erasures, identities
from pipeline.ingest.landing.erased_texts import WITHOUT, TextRule, in_json, plain
from pipeline.ingest.records import INSTALLS

NAMES = {"IDA SAMPLE", "5 BEECH LANE", "O BRIEN PAT"}
ALONE = NAMES | {"SMITH"}
RULE = TextRule(ALONE.__contains__, NAMES.__contains__, (2, 3))


@pytest.mark.parametrize(
    ("cell", "left"),
    [
        ("Ida Sample", WITHOUT),
        ("  ida   SAMPLE.", WITHOUT),
        ("no crew Ida Sample in crews; add it", f"no crew {WITHOUT} in crews; add it"),
        ("O'Brien, Pat and 5, Beech Lane", f"{WITHOUT} and {WITHOUT}"),
        ("'Smith' is no date; Smithson may be", f"'{WITHOUT}' is no date; Smithson may be"),
        ("Smith", WITHOUT),
        ("Mr Smith", "Mr Smith"),
        ("Ida Sampler", "Ida Sampler"),
        ("15 Beech Lane", "15 Beech Lane"),
        ("Ída Sämple", WITHOUT),
        ("", ""),
    ],
)
def test_a_text_goes_where_it_stands_and_nothing_else_does(cell, left):
    assert RULE.without(cell, is_as_written=True) == left


def test_a_single_word_stays_in_free_words():
    assert RULE.without("Smith", is_as_written=False) == "Smith"


def test_cells_as_json_stay_as_they_are_where_nothing_goes():
    assert in_json('{"crew":"Alder"}', RULE) == '{"crew":"Alder"}'
    assert in_json('{"crew": "Smith", "leaves": 3}', RULE) == f'{{"crew": "{WITHOUT}", "leaves": 3}}'


words = st.text("abcé' -,.12", max_size=12)


@given(words, words, st.sampled_from(["Ida Sample", "5 Beech lane", "Pat"]))
def test_what_is_left_never_holds_a_text_and_is_left_again_as_it_is(before, after, text):
    left = RULE.without(f"{before} {text} {after}", is_as_written=True)
    assert not any(f" {name} " in f" {plain(left.replace(WITHOUT, '|x|'))} " for name in NAMES)
    assert RULE.without(left, is_as_written=True) == left


@pytest.fixture
def store(tmp_path):
    with open_store(tmp_path) as connection:
        yield connection


def rows(*cells: tuple[str, str | None, str | None, str | None]) -> pl.DataFrame:
    schema = dict.fromkeys(("install_id", "customer", "address", "postcode"), pl.String)
    return pl.DataFrame(cells, schema=schema, orient="row")


def test_marks_are_alike_where_cells_were_and_are_not_marked_again(store):
    erasures = Erasures(store)
    before = rows(("D1", "Ida", "5 Lane", None), ("D1", "Ida", "6 Lane", "Z1"), ("D2", "Ida", "5 Lane", None))
    assert erasures.blanked(INSTALLS, before).equals(before)
    erasures.add(ROW, "installs", "D1")
    (one, other, third) = erasures.blanked(INSTALLS, before).rows()
    assert one[1] == other[1]
    assert one[1].startswith(ERASED)
    assert one[2] != other[2]
    assert one[3] is None
    assert third == ("D2", "Ida", "5 Lane", None)
    again = Erasures(store).blanked(INSTALLS, rows(one, other))
    assert again.rows() == [one, other]


def test_a_person_is_known_by_name_and_place_however_they_are_written(store):
    erasures = Erasures(store)
    for identity in identities({"customer": "Ida Sample", "address": "5 Beech Lane", "postcode": "ZZ5 5EX"}):
        erasures.add(PERSON, *identity)
    found = erasures.blanked(
        INSTALLS,
        rows(
            ("X1", "IDA SAMPLE", "5, beech lane", None), ("X2", "Ida  Sample", None, "zz55ex"),
            ("X3", "Ida Sample", "6 Beech Lane", None), ("X4", "Ida Sample", None, None),
        ),
    )  # fmt: skip
    assert [(name or "").startswith(ERASED) for name in found["customer"]] == [True, True, False, False]


def test_nothing_of_a_text_is_kept_but_its_print(store, tmp_path):
    erasures = Erasures(store)
    erasures.add_text("IDA SAMPLE", goes_anywhere=True)
    kept = store.execute("SELECT kind, print FROM people.erased ORDER BY kind").fetchall()
    assert [kind for kind, _ in kept] == ["length", "salt", "telling", "text"]
    assert not any("IDA" in print_.upper() for _, print_ in kept)

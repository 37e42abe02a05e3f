"""A firm's own measures, checks, faults, deviations and limits: taken as meant, or refused in one sentence."""

import pytest

from pipeline.catalogue import load_catalogue
from pipeline.errors import UserError

BOLT = {"name": "bolt_throw", "unit": "mm"}
SHORT = {"name": "bolt_short", "step": "adjustment", "measure": "bolt_throw", "how": "min", "unit": "mm"}


def refused(**tables):
    with pytest.raises(UserError) as caught:
        load_catalogue(tables)
    assert "\n" not in str(caught.value)
    return str(caught.value)


def family_of(measure, **keys):
    own = {"name": "own_one", "step": "frame", "measure": measure, "how": "max", "unit": "mm", **keys}
    return load_catalogue({"deviation": [own]}).deviation("own_one").family


def test_a_fault_or_measure_without_words_is_called_by_its_name():
    catalogue = load_catalogue({"fault": [{"name": "bolt_jammed"}], "measure": [BOLT]})
    assert catalogue.fault_words()["bolt_jammed"] == "bolt jammed"
    assert catalogue.measures[-1].words == "bolt throw"


def test_an_own_deviation_joins_the_family_of_its_measure():
    assert family_of("frame_diagonal") == "frame_diagonal_difference"
    # a variant alone measures jamb_face, so its family is that of the variant
    assert family_of("jamb_face") == "jamb_plumb_error"
    assert family_of("threshold_gap") == "threshold_gap_spread"
    assert family_of("jamb_face", family="own_one") == "own_one"


@pytest.mark.parametrize(
    ("tables", "words"),
    [
        ({"deviation": [{**SHORT, "name": "bolt_throw"}]}, "measure 'bolt_throw' is not known"),
        ({"limit": [{"name": "sill_levl", "deviation": "sill_levl", "high": 1}]}, "deviation 'sill_levl' is not known"),
        ({"measure": [{"name": "Sill Height", "unit": "mm"}]}, "the measure 'Sill Height' is already in the catalogue"),
        ({"fault": [{"name": "dropped-leaf"}]}, "the fault 'dropped-leaf' is already in the catalogue"),
        (
            {"limit": [{"name": "plumb", "deviation": "sill_bow", "high": 1}]},
            "[[limit]] plumb: this is already the name of a limit on jamb_plumb_error; choose another name.",
        ),
        (
            {"limit": [{"name": "ours", "deviation": "sill_bow", "high": high, "product": "A"} for high in (1, 2)]},
            "[[limit]] ours: it stands twice for the same product, material and first day; keep one.",
        ),
        (
            {"limit": [{"name": "ours", "deviation": "sill_bow", "low": 3, "high": 2}]},
            "low = 3 is above high = 2; exchange or correct them.",
        ),
    ],
)
def test_what_contradicts_is_refused(tables, words):
    assert words in refused(**tables)


def test_one_limit_may_have_a_row_for_each_product():
    rows = [{"name": "ours", "deviation": "sill_bow", "high": 1 + k, "product": name} for k, name in enumerate("AB")]
    assert [limit.high for limit in load_catalogue({"limit": rows}).limits if limit.is_own] == [1, 2]


def test_an_own_limit_may_take_the_place_of_a_built_in_one_of_its_name():
    own = {"name": "plumb", "deviation": "jamb_plumb_error", "high": 2.0}
    assert load_catalogue({"limit": [own]}).limits[-1].is_own

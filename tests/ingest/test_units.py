"""Units as people write them in the unit column."""

import pytest

from pipeline.catalogue import load_catalogue
from pipeline.ingest.texts.units import Units


@pytest.fixture(scope="module")
def units() -> Units:
    return Units(load_catalogue())


@pytest.mark.parametrize(
    ("written", "name"),
    [
        ("mm.", "mm"), ("MM", "mm"), ("mms", "mm"), ("cm.", "cm"), ("mtr", "m"), ("Metres", "m"), ("in.", "in"),
        ("ins", "in"), ("\u2033", "in"), ("\u201d", "in"), ("'", "ft"), ("ft.", "ft"), ("kgs", "kg"),
    ],
)  # fmt: skip
def test_a_unit_is_known_with_a_point_in_the_plural_and_by_its_marks(units, written, name):
    found = units.find(written)
    assert found is not None
    assert found.name == name


@pytest.mark.parametrize("written", ["", ".", "millimicron", "i", "m m"])
def test_what_is_no_unit_is_none(units, written):
    assert units.find(written) is None

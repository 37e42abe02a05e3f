"""The unit of a cell of readings that names none itself."""

from pipeline.ingest.judging.own_units import known_units
from pipeline.ingest.texts.numbers import read_number

_NO_UNIT = "none"


def unit_beside(text: str, bare_unit: str) -> str:
    """The unit of a cell that names none: the bare one, or inches for a fraction that may not be anything else.

    Among mm only what is finer than a quarter is of a tape of inches: 3/4 may be three to four.
    """
    number, _ = read_number(text)
    if number is not None and any(known_units().find(word) for word in (number.unit or "").split()):
        return ""
    plain = "" if bare_unit == _NO_UNIT else bare_unit
    if number is None or not number.is_fraction:
        return plain
    is_of_tape = not (4 * number.value).is_integer()
    return "in" if is_of_tape or not plain else plain

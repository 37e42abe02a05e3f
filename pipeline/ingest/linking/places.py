"""An address in parts that compare: flat, house number, street, postcode and its outward part.

Written for addresses of one line with the number before or after the street. A plot number is no house number.
"""

import re
from typing import NamedTuple

from pipeline.ingest.linking.names import plain_text

_STREET_WORDS = {
    "RD": "ROAD", "ST": "STREET", "STR": "STREET", "AV": "AVENUE", "AVE": "AVENUE", "LN": "LANE", "DR": "DRIVE",
    "CL": "CLOSE", "CT": "COURT", "CRT": "COURT", "GDNS": "GARDENS", "GDN": "GARDEN", "TCE": "TERRACE",
    "TERR": "TERRACE", "PL": "PLACE", "SQ": "SQUARE", "CRES": "CRESCENT", "CR": "CRESCENT", "GRN": "GREEN",
    "GR": "GROVE", "GRV": "GROVE", "PK": "PARK", "WY": "WAY", "HSE": "HOUSE", "NTH": "NORTH", "STH": "SOUTH",
}  # fmt: skip
_FLAT = re.compile(r"\b(?:FLAT|APARTMENT|APT|UNIT|ROOM)\.?\s*([0-9]*[A-Z]?)\b|(?<![0-9])#\s*([0-9]+)")
_PLOT = re.compile(r"\bPLOT\.?\s*([0-9]+[A-Z]?)\b")
_HOUSE = re.compile(r"(?<![0-9A-Z])0*([0-9]+)\s?([A-Z])?(?![0-9A-Z])")
_POSTCODE_IN_LINE = re.compile(r"\b([A-Z]{1,2}[0-9][0-9A-Z]?\s*[0-9][A-Z]{2})\b")
_LETTERS = re.compile(r"[^\W\d_]+")
_SIGNS = re.compile(r"[\W_]")
_INWARD = 3


class Place(NamedTuple):
    """Upper case, without accents; None where it is not written."""

    flat: str | None
    house: str | None
    street: str | None
    postcode: str | None
    outward: str | None


def place_of(address: str | None, postcode: str | None) -> Place:
    """The parts of an address and its postcode; a postcode inside the address counts where the own cell is empty.

    >>> place_of("Flat 2, 012a Elm Rd., Barton", "zz1 2ab")
    Place(flat='2', house='12A', street='ELM ROAD', postcode='ZZ12AB', outward='ZZ1')
    """
    line = plain_text(address or "")
    code = _SIGNS.sub("", plain_text(postcode or ""))
    inside = _POSTCODE_IN_LINE.search(line)
    if inside:
        line = line.replace(inside[0], " ")
        code = code or _SIGNS.sub("", inside[1])
    flat = _FLAT.search(line)
    line = _PLOT.sub(" ", _FLAT.sub(" ", line))
    part = _street_part(line)
    house = _HOUSE.search(line)
    return Place(
        (flat[1] or flat[2] or None) if flat else None,
        f"{house[1]}{house[2] or ''}" if house else None,
        _street(part) or None,
        code or None,
        (code[:-_INWARD] if len(code) > _INWARD else code) or None,
    )


def _street_part(line: str) -> str:
    """The part between commas with the house number, or the first after it that holds a word."""
    parts = [part for part in re.split(r"[,;\n]", line) if part.strip()]
    numbered = [n for n, part in enumerate(parts) if _HOUSE.search(part)]
    start = numbered[0] if numbered else 0
    return next((part for part in parts[start:] if len("".join(_LETTERS.findall(part))) > 1), "")


def _street(part: str) -> str:
    words = [word for word in _LETTERS.findall(part.replace("'", "")) if len(word) > 1]
    # ST before the name is a saint, after it a street
    return " ".join(_STREET_WORDS.get(word, word) if n or word != "ST" else "SAINT" for n, word in enumerate(words))

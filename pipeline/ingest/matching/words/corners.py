"""Headings that go from corner to corner in words which otherwise say something else.

How people head their columns is common practice, no source.
"""

import re

_LOW = re.compile(r"\blow(?:er)?([ -]+(?:left|right|lh|rh)\b)", re.IGNORECASE)
_HIGH = re.compile(r"\b(?:high|higher|upper)([ -]+(?:left|right|lh|rh)\b)", re.IGNORECASE)
_CORNER = r"(?:[bt][lr]|(?:bottom|top)[ -](?:left|right))"
# Cross corner, and corner to corner, say a diagonal by themselves.
_FROM_TO = re.compile(
    rf"(?<!cross[ -])(?<!x[ -])(?<!to )\bcorners?\b(?=\W+{_CORNER}\W+(?:to\W+)?{_CORNER}\b)", re.IGNORECASE
)


def with_corners(heading: str) -> str:
    """The heading with bottom and top for corners said by low and high, and as a diagonal where it goes between two.

    >>> with_corners("frame diagonal / low left to high right"), with_corners("Corners BL-TR")
    ('frame diagonal / bottom left to top right', 'diagonal BL-TR')
    """
    if _LOW.search(heading) and _HIGH.search(heading):
        heading = _HIGH.sub(r"top\1", _LOW.sub(r"bottom\1", heading))
    return _FROM_TO.sub("diagonal", heading)

"""A customer's name and address in one cell: the name, and under it or behind a comma where the house is.

How offices write them is common practice, no source.
"""

import re

_LINES = re.compile(r"\s*[\r\n]+\s*")
# Behind a comma initials belong to the name: Alder, J.
_COMMA = re.compile(r",(?!\s*\w{1,2}\.?\s*(?:,|$))\s*")
_DIGIT = re.compile(r"\d")
NAME, ADDRESS = 1, 2


def part_of_person(text: str, part: int) -> str:
    """The name (1) or the address (2) of a cell; of one that cannot be parted all is a name, or an address if numbered.

    >>> part_of_person("Mrs J Alder\\n5 Mill Lane\\nSaltby", 2), part_of_person("Alder, J, 5 Mill Lane", 1)
    ('5 Mill Lane, Saltby', 'Alder, J')
    """
    name, address = _parted(text.strip())
    return name if part == NAME else address


def _parted(text: str) -> tuple[str, str]:
    lines = _LINES.split(text)
    parts = lines if len(lines) > 1 else _COMMA.split(text, maxsplit=1)
    if _DIGIT.search(parts[0]):
        return "", ", ".join(lines)
    if len(lines) == 1 and not (len(parts) > 1 and _DIGIT.search(parts[1])):
        return text, ""
    return parts[0], ", ".join(parts[1:])

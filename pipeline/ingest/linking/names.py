"""A customer's name in parts that compare: surname and first initial, however it is written."""

import re
import unicodedata
from typing import NamedTuple

_LEFT_OUT = {
    *("MR", "MRS", "MS", "MISS", "MX", "DR", "PROF", "REV", "SIR", "LADY", "HERR", "FRAU", "MME", "M", "AND", "UND"),
    *("THE", "FAMILY", "LTD", "LIMITED", "PLC", "LLP", "GMBH", "CO"),
}
_WORD = re.compile(r"[^\W_](?:[^\W_]|')*")


class Name(NamedTuple):
    """Upper case, without accents; None where it is not written. whole: its longer words in alphabetical order."""

    surname: str | None
    initial: str | None
    whole: str | None


def plain_text(text: str) -> str:
    """Upper case without accents; the sharp s as SS.

    >>> plain_text("Müßig")
    'MUSSIG'
    """
    decomposed = unicodedata.normalize("NFKD", text.upper())
    return "".join(sign for sign in decomposed if not unicodedata.combining(sign))


def name_of(text: str | None) -> Name:
    """The parts of a name, titles left out. `Smith, Jane` and `Ms J Smith` are the same name.

    >>> name_of("Mr & Mrs J. Óbrien"), name_of("Obrien, Jo")
    (Name(surname='OBRIEN', initial='J', whole=None), Name(surname='OBRIEN', initial='J', whole='JO OBRIEN'))
    """
    first, comma, rest = plain_text(text or "").partition(",")
    before, after = _words(first), _words(rest)
    words = after + before if comma and before and after else before + after
    long = [word for word in words if len(word) > 1]
    if not long:
        return Name(None, None, None)
    surname = long[-1]
    others = list(words)
    others.reverse()
    others.remove(surname)
    others.reverse()
    whole = " ".join(sorted(long)) if len(long) > 1 else None
    return Name(surname, others[0][0] if others else None, whole)


def _words(text: str) -> list[str]:
    words = [word.replace("'", "") for word in _WORD.findall(text.replace("-", ""))]
    kept = [word for word in words if word and word not in _LEFT_OUT]
    # a lone M is an initial where nothing else could be one
    return ["M", *kept] if len(kept) == 1 and "M" in words[:-1] else kept

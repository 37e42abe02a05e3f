"""Amounts of money as people write them: £85.00, 85 €; the sign is read where its column writes no other one."""

import unicodedata
from collections.abc import Iterable

# Columns that hold amounts in the firm's currency.
MONEY = ("cost",)


def split_currency(text: str) -> tuple[str, str]:
    """(the sign of currency at one end of a text, the amount without it); an empty sign where there is none."""
    signs = [mark for mark in text if unicodedata.category(mark) == "Sc"]
    minus, body = ("-", text[1:].lstrip()) if text[:1] == "-" else ("", text)
    if len(signs) != 1 or signs[0] not in (body[0], body[-1]):
        return "", text
    return signs[0], minus + body.replace(signs[0], "").strip()


def currencies(texts: Iterable[str]) -> set[str]:
    """The signs of currency that texts have."""
    return {mark for text in texts for mark in text if unicodedata.category(mark) == "Sc"}


def two_currencies(signs: frozenset[str]) -> str:
    """What is wrong with an amount whose column writes another currency as well."""
    told = " and ".join(sorted(signs))
    return f"the column writes amounts in {told}; write all in the firm's currency, in digits alone"

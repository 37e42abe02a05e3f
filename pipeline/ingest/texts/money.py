"""Amounts of money as people write them: £85.00, 85 €, A$ 85, R1 250,00; read where a column writes one currency."""

import re
import unicodedata
from collections.abc import Iterable

# Columns that hold amounts in the firm's currency.
MONEY = ("cost",)
# Between the amounts of a sum in one cell.
PLUS = "+"
# Codes of ISO 4217, letters before a dollar's sign, and the rand, which is written R.
_CODES = "GBP|EUR|USD|AUD|NZD|CAD|ZAR|CHF|SEK|NOK|DKK|PLN"
# These, and other names of currencies, as words of a heading: EUR, Amount CHF, Price kr.
CURRENCY_WORDS = frozenset(_CODES.casefold().split("|")) | {
    "euro", "euros", "kr", "sfr", "rand", "rands", "dollar", "dollars", "quid", "franken", "francs", "zloty", "kronor",
    "kroner",
}  # fmt: skip
_BEFORE = re.compile(rf"([+-]?)\s*({_CODES}|(?:US|AU|A|NZ|CA|C)\$|R(?=\s?\d))\s*(.*)", re.ASCII | re.DOTALL)
_NO_CENTS = re.compile(r"(?<=\d)[.,]\s?[-–—]{1,2}(?=$|\s)")
_AFTER = re.compile(rf"(.*\d)\s*({_CODES})", re.ASCII | re.DOTALL)


def split_currency(text: str) -> tuple[str, str]:
    """(the sign of currency at one end of a text, the amount without it); an empty sign where there is none."""
    if before := _BEFORE.fullmatch(text):
        return before[2], before[1] + before[3]
    if after := _AFTER.fullmatch(text):
        return after[2], after[1]
    signs = [mark for mark in text if unicodedata.category(mark) == "Sc"]
    minus, body = ("-", text[1:].lstrip()) if text[:1] == "-" else ("", text)
    if len(signs) != 1 or signs[0] not in (body[0], body[-1]):
        return "", text
    return signs[0], minus + body.replace(signs[0], "").strip()


def without_dash(text: str) -> str:
    """An amount without the dash that says that it has no cents: 45,- and 45.--."""
    return _NO_CENTS.sub("", text)


def currencies(texts: Iterable[str]) -> set[str]:
    """The signs of currency that texts have."""
    return {mark for text in texts for mark in text if unicodedata.category(mark) == "Sc"}


def currencies_in_cells(texts: Iterable[str]) -> set[str]:
    """The same of cells, where letters beside an amount say a currency as well."""
    amounts = [part.strip() for text in texts for part in text.split(PLUS) if part.strip()]
    signs = [split_currency(amount)[0] for amount in amounts]
    unsaid = (amount for amount, sign in zip(amounts, signs, strict=True) if not sign)
    return set(filter(None, signs)) | currencies(unsaid)


def two_currencies(signs: frozenset[str]) -> str:
    """What is wrong with an amount whose column writes another currency as well."""
    told = " and ".join(sorted(signs))
    return f"the column writes amounts in {told}; write all in the firm's currency, in digits alone"

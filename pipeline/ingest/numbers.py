"""Numbers as people write them in a canonical file: a decimal point, or a plain fraction such as 1/8 or 4 1/2."""

import math
import re

# An underscore between digits is how programs write long numbers; it leaves no doubt.
_DIGITS = r"\d+(?:_\d+)*"
_DECIMAL = re.compile(rf"[+-]?(?:{_DIGITS}\.?(?:{_DIGITS})?|\.{_DIGITS})(?:[eE][+-]?{_DIGITS})?", re.ASCII)
_FRACTION = re.compile(r"([+-]?)(?:(\d+)[ -])?(\d+)\s*/\s*(\d+)", re.ASCII)
_COMMA = re.compile(r"[+-]?\d+,\d+", re.ASCII)
_WITH_UNIT = re.compile(r"([+-]?\d+(?:\.\d+)?)\s*(?:[^\W\d_]+\.?|[°\"'%][CF]?)(?:/m)?")


def judge_number(text: str) -> tuple[float | None, str | None]:
    """(number, None), or (None, what is wrong and what to do) for a text that is not a finite number."""
    if _DECIMAL.fullmatch(text):
        number = float(text)
        return (number, None) if math.isfinite(number) else (None, "the number is too large to be true")
    fraction = _FRACTION.fullmatch(text)
    if fraction and int(fraction[4]):
        sign = -1.0 if fraction[1] == "-" else 1.0
        return sign * (int(fraction[2] or 0) + int(fraction[3]) / int(fraction[4])), None
    return None, _why_not(text)


def judge_whole(text: str) -> tuple[int | None, str | None]:
    """(whole number, None), or (None, what is wrong and what to do)."""
    number, problem = judge_number(text)
    if number is None:
        return None, problem
    if number != int(number):
        return None, "this must be a whole number"
    return int(number), None


def bounds_problem(number: float, low: float | None, high: float | None, unit: str = "") -> str | None:
    """What is wrong with a number outside its plausible bounds; None inside."""
    if (low is None or number >= low) and (high is None or number <= high):
        return None
    if low is not None and low >= 0 and number < 0:
        return "this cannot be negative"
    shown = [f"{bound:,.10g}" for bound in (low, high) if bound is not None]
    span = " to ".join(shown)
    if len(shown) == 1:
        span += " or less" if low is None else " or more"
    return f"this is not plausible; expected {span}{' ' + unit if unit else ''}"


def _why_not(text: str) -> str:
    if _COMMA.fullmatch(text):
        return "write the number with a decimal point, not a comma, and without separators of thousands"
    with_unit = _WITH_UNIT.fullmatch(text)
    if with_unit:
        return f"write the number alone ({with_unit[1]}) and its unit in a column of its own"
    return "this is not a number"

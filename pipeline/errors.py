"""What the user can put right: one sentence, printed without a traceback."""

import unicodedata
from collections.abc import Sequence
from difflib import get_close_matches

_STEERING = ("Cc", "Cf", "Zl", "Zp")  # control, direction and format marks, breaks of line and paragraph


class UserError(Exception):
    """The command cannot run as asked. The message is one sentence: what is wrong, where, what to do.

    exit_code  what the process ends with (2: cannot run as asked)
    """

    exit_code = 2


def nearest(word: str, known: list[str], count: int = 2, cutoff: float = 0.6) -> list[str]:
    """The known words closest to a misspelt one, best first; none where nothing is as near as `cutoff` (1: equal)."""
    lowered = {name.lower(): name for name in known}
    found = get_close_matches(word.strip().lower().replace(" ", "_"), list(lowered), n=count, cutoff=cutoff)
    return [lowered[name] for name in found]


def did_you_mean(word: str, known: list[str]) -> str:
    """`, did you mean a or b?` for an error sentence; empty where nothing known is near."""
    near = nearest(word, known)
    return f"; did you mean {' or '.join(near)}?" if near else ""


def as_sentence(text: str) -> str:
    """The text with a full stop, unless it ends as a question does."""
    return text if text.endswith("?") else f"{text}."


def few_of(texts: Sequence[str], most: int) -> str:
    """`a, b and 3 more`: the first of what there is to tell, and how many are left."""
    more = f" and {len(texts) - most} more" if len(texts) > most else ""
    return ", ".join(texts[:most]) + more


def visible(text: str) -> str:
    """The text without signs that would steer a terminal or turn its lines round: a blank stands for each.

    Names of doors, crews and files are whatever somebody wrote.

    >>> visible("D-1\\x1b[2J")
    'D-1 [2J'
    """
    return "".join(" " if unicodedata.category(sign) in _STEERING else sign for sign in text)

"""Gaps beside a leaf: a hinge side gap, top is none over the leaf at its hinge side, which is a top gap, hinge side.

What stands next to the word gap says which gap it is. How people head their columns is common practice, no source.
"""

import re

_HINGE, _LOCK = r"(?:hinge|hanging|hung)", r"(?:lock|closing|handle|latch|strike|shut(?:ting)?)"
_SIDE, _END = r"[- ]?(?:side|stile)", r"\b(?:top|bottom|upper|lower|btm|bot|bott)\b"
_OTHER = r"\b(?:top|bottom|upper|lower|btm|bot|bott|head|threshold|sill|cill|track|floor)\b"


def _beside(which: str) -> re.Pattern[str]:
    """A gap that is said to be beside a leaf, at one of its sides."""
    return re.compile(
        rf"\b{which}{_SIDE}[- ]gaps?\b"
        rf"|\bgaps?\W+(?:at|on|along|down)\s+(?:the\s+)?{which}{_SIDE}\b"
        rf"|\bside\s+gaps?\W+(?:(?:at|on)\s+)?(?:the\s+)?{which}(?:{_SIDE})?\b",
        re.IGNORECASE,
    )


_AT_HINGE, _AT_LOCK = _beside(_HINGE), _beside(_LOCK)
_OPEN = re.compile(rf"\bgaps?\W+(?:{_HINGE}|{_LOCK}){_SIDE}\W+{_END}", re.IGNORECASE)
_ENDS, _OTHERS = re.compile(_END, re.IGNORECASE), re.compile(_OTHER, re.IGNORECASE)


def with_side_gaps(heading: str) -> str:
    """A heading in which a gap beside a leaf, at its hinge side, is called a side gap.

    >>> with_side_gaps("Hinge side gap / Top")
    'side gap / Top'
    """
    text = heading.replace("_", " ")
    found = _AT_HINGE.search(text)
    return f"{text[: found.start()]}side gap{text[found.end() :]}" if found and _is_beside(text, found) else heading


def may_be_beside(heading: str) -> bool:
    """Whether a gap may be beside a leaf, not over it: Gap hinge side top; or surely is, at its lock side."""
    text = heading.replace("_", " ")
    found, at_lock = _OPEN.search(text), _AT_LOCK.search(text)
    return bool(found and not _OTHERS.search(text, 0, found.start())) or bool(at_lock and _is_beside(text, at_lock))


def _is_beside(text: str, found: re.Match[str]) -> bool:
    """Whether nothing before the words says an end of the leaf, and something behind them does."""
    return not _OTHERS.search(text, 0, found.start()) and bool(_ENDS.search(text, found.end()))

"""What a comma and a point mean in the numbers of one column, by the column's own evidence.

`3,5` and `1.234,5` show a decimal comma, `3.5` and `1,234.5` a decimal point. `1,234` shows neither.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass, field

DOT, COMMA = ".", ","
_NAMES = {DOT: "a decimal point", COMMA: "a decimal comma"}
_DOUBTFUL = re.compile(r"[1-9]\d{0,2}([.,])\d{3}", re.ASCII)
_ONE_MARK = re.compile(r"\d*([.,])\d+", re.ASCII)
_GROUPS = re.compile(r"[1-9]\d{0,2}([.,])\d{3}(?:\1\d{3})+", re.ASCII)
_BOTH = re.compile(r"[1-9]\d{0,2}(?:([.,])\d{3})+([.,])\d+", re.ASCII)


@dataclass(frozen=True)
class Mark:
    """decimal: the decimal mark of a column's doubtful numbers, None where it cannot be told; why: what to say then."""

    decimal: str | None
    why: str = ""

    def problem(self, body: str) -> str:
        """What to say of a number that stays doubtful, and what to do."""
        plain, decimal = re.sub("[.,]", "", body), re.sub("[.,]", ".", body)
        return (
            f"this can be {plain} or {decimal}, {self.why}; write {plain} or {decimal}0, "
            'or say decimals = "point" or "comma" in fitback.toml'
        )


POINT = Mark(DOT)


def doubtful_mark(body: str) -> str | None:
    """The mark of unsigned digits that can be a decimal mark and a separator of thousands; None where it cannot."""
    found = _DOUBTFUL.fullmatch(body)
    return found[1] if found else None


def shown_mark(body: str) -> str | None:
    """The decimal mark that unsigned digits show by themselves; None where they show none."""
    if doubtful_mark(body):
        return None
    both, groups, one = _BOTH.fullmatch(body), _GROUPS.fullmatch(body), _ONE_MARK.fullmatch(body)
    if both and both[1] != both[2]:
        return both[2]
    if groups:
        return COMMA if groups[1] == DOT else DOT
    return one[1] if one else None


@dataclass
class MarkEvidence:
    """What the numbers of a column show: by decimal mark, the first in order that shows it; whether one is doubtful."""

    shown: dict[str, str] = field(default_factory=dict)
    has_doubtful: bool = False

    def add(self, bodies: Iterable[str]) -> None:
        """Takes in unsigned digits."""
        for body in bodies:
            mark = shown_mark(body)
            if mark:
                self.shown[mark] = min(body, self.shown.get(mark, body))
            elif doubtful_mark(body):
                self.has_doubtful = True

    def decide(self, said: str | None = None) -> Mark:
        """The column's mark. said: what the firm says of its decimals, a point or a comma."""
        if len(self.shown) == 2:
            return Mark(None, f"and the column holds both {self.shown[COMMA]} and {self.shown[DOT]}")
        shown = next(iter(self.shown), None)
        if said and shown and said != shown:
            return Mark(None, f"and the column holds {self.shown[shown]} where fitback.toml says {_NAMES[said]}")
        if said or shown or not self.has_doubtful:
            return Mark(said or shown or DOT)
        return Mark(None, "and nothing in the column shows which")

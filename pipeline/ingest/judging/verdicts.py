"""What the judging of one text comes to."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True)
class Verdict:
    """What a text was read as. rule: how, where it is not plain. problem: what is wrong, the value then being None.

    unit, side, is_fraction  what else stands in the cell of a number whose unit has a column of its own (see Number)
    in_doubt  of such a number that can be two, what it is with decimals; the other is 1,000 times as much
    """

    value: Any
    problem: str | None = None
    rule: str | None = None
    unit: str | None = None
    side: str | None = None
    is_fraction: bool = False
    in_doubt: float | None = None


Verdicts = Callable[[str], Verdict]

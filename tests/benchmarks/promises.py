"""What is promised of speed and memory, and whether the figures keep it."""

import math
from dataclasses import dataclass

MOST = {"deviations": 2.2, "taking_in": 5.0, "all_tables": 12.0}  # times the floor
MOST_WIDE = 8.0  # a mapped wide sheet of the same readings, times the floor
MOST_WORKBOOK_SECONDS = 20.0  # fifty workbooks of 2,000 rows
MOST_MIB = 1024.0
MOST_GROWTH = 1.15
LEAST_SLOWER, LEAST_LARGER = 3.0, 4.0  # the reference script against all tables
LEAST_FIT = 5.0
MOST_FIRM_SECONDS = 30.0
MOST_HELP = 3.0
SAME, SAME_CLUSTERED = 1e-8, 1e-5


@dataclass(frozen=True)
class Verdict:
    """One promise, what was found, and the bound it is held to. at_most: the figure must not be above the bound."""

    promise: str
    figure: float
    bound: float
    unit: str
    at_most: bool = True

    @property
    def is_kept(self) -> bool:
        """Whether the figure keeps the promise; a figure that is not a number does not."""
        return self.figure <= self.bound if self.at_most else self.figure >= self.bound


def growth(small: tuple[float, float], large: tuple[float, float]) -> float:
    """Exponent of growth between two (size, seconds)."""
    return math.log(large[1] / small[1]) / math.log(large[0] / small[0])


def table(verdicts: list[Verdict]) -> str:
    """One line a promise, for a plain terminal."""
    rows = [
        (
            verdict.promise,
            f"{_number(verdict.figure)} {verdict.unit}".strip(),
            f"{'at most' if verdict.at_most else 'at least'} {_number(verdict.bound)}",
            "pass" if verdict.is_kept else "FAIL",
        )
        for verdict in verdicts
    ]
    heads = ("promise", "found", "promised", "")
    widths = [max(len(row[column]) for row in [heads, *rows]) for column in range(4)]
    return "\n".join(
        "  ".join(cell.ljust(w) for cell, w in zip(row, widths, strict=True)).rstrip() for row in [heads, *rows]
    )


def _number(value: float) -> str:
    return f"{value:.2g}" if abs(value) < 0.01 else f"{value:.2f}" if abs(value) < 100 else f"{value:.0f}"

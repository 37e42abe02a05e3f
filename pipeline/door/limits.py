"""What the tables decided of a door's deviations, as the drawings and words need it. Decides nothing itself."""

from dataclasses import dataclass

from pipeline.door.geometry import ROUNDING
from pipeline.door.trail import Row
from pipeline.report.numbers import plain

SEVERITY = {"out": 3, "undecided": 2, "within": 1, "not recorded": 0}
GUARD = 1.645  # one-sided 95 %: JCGM 106, as in limit_judgements


@dataclass(frozen=True)
class Judged:
    """One deviation of the door against the limit that decides on it most severely.

    upper, lower: the limit's sides, None where there is none; u: standard uncertainty of the value, or None
    """

    deviation: str
    words: str
    unit: str
    value: float
    decision: str
    upper: float | None
    lower: float | None
    u: float | None

    @property
    def guard(self) -> float:
        """How far from the limit the instrument cannot tell, in the deviation's unit."""
        return GUARD * (self.u or 0.0)

    def of(self, size: float) -> str:
        """The decision that one member of this size shows in the drawing: out, undecided or within.

        The tables decide on the worst member alone: a member beyond the limit shows its decision, another is within.
        """
        is_beyond = (self.upper is not None and size > self.upper + ROUNDING) or (
            self.lower is not None and size < self.lower - ROUNDING
        )
        is_worst = abs(size - self.value) < ROUNDING
        return self.decision if is_beyond or is_worst else "within"


def gravest(judged: dict[str, Judged], *names: str) -> str:
    """The gravest decision on any of these deviations; within where none was judged."""
    decisions = [judged[name].decision for name in names if name in judged]
    return max(decisions, key=SEVERITY.__getitem__, default="within")


def figure(value: float) -> str:
    """A value of the tables to three digits; what is left of adding floats is no figure."""
    return plain(round(value, 6))


def judged_of(limits: list[Row], deviations: list[Row]) -> dict[str, Judged]:
    """By deviation: those recorded on the door on which a limit decides."""
    uncertainties = {row["deviation"]: row["uncertainty"] for row in deviations}
    found: dict[str, Judged] = {}
    for row in sorted(limits, key=lambda row: SEVERITY[row["decision"]]):
        if row["decision"] != "not recorded":
            value = next(one["value"] for one in deviations if one["deviation"] == row["deviation"])
            found[row["deviation"]] = Judged(
                row["deviation"], row["words"], row["unit"], value, row["decision"], row["upper_limit"],
                row["lower_limit"], uncertainties.get(row["deviation"]),
            )  # fmt: skip
    return found

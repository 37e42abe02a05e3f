"""What is to be looked at again, in one order, and how likely each door is to come back: in words and for a program.

One act stands once for a door, however many faults it spares, and of one fault only the act to begin with is told (see
the table `recheck`), so that no callback is counted as avoided twice.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from pipeline.report.numbers import counted
from pipeline.report.words.common import crew_name, sentence
from pipeline.sheets.cautions import CAUTIONS, DEFERS

MOST_LOOKS = 30
MOST_DOORS = 40
MOST_FAULTS = 4  # of a door, the likeliest
NO_RISK = "no fault has 10 first callbacks on record yet, so no risk can be told; go by the limits instead."


@dataclass(frozen=True)
class Look:
    """One thing to look at again on one door. rows: of the table, one for each fault it spares, the likeliest first."""

    rows: tuple[dict[str, Any], ...]

    @property
    def first(self) -> dict[str, Any]:
        """What is the same in all rows: the door, the step, what is seen, what to do, minutes."""
        return self.rows[0]

    @property
    def avoided(self) -> float:
        """Callbacks that it spares in 12 months."""
        return float(sum(row["avoided"] for row in self.rows))

    @property
    def per_minute(self) -> float:
        """The same for each minute of looking: looked at once, it spares them all."""
        return float(sum(row["avoided_per_minute"] for row in self.rows))

    @property
    def because(self) -> str:
        """Why, in words: `sill: out of level: 6.0 mm, good doors 1.2`."""
        return f"{self.first['step']}: {self.first['because']}."

    @property
    def do(self) -> str:
        """What to do, as a sentence."""
        return sentence(self.first["do"])


@dataclass(frozen=True)
class DoorRisk:
    """One new door. rows: of the table, all its faults, the likeliest first."""

    rows: tuple[dict[str, Any], ...]

    @property
    def name(self) -> str:
        """The door's number."""
        return str(self.rows[0]["install_id"])

    @property
    def crew(self) -> str:
        """Who fitted it."""
        return crew_name(self.rows[0]["crew"])

    @cached_property
    def chance(self) -> float:
        """That it comes back within 12 months for any fault."""
        kept = 1.0
        for row in self.rows:
            kept *= 1 - row["risk"]
        return 1 - kept


@dataclass(frozen=True)
class RecheckList:
    """rows: of the table recheck, in its order. words: of faults. n_doors: asked for.

    notes  what came of reading the doors
    """

    rows: list[dict[str, Any]]
    words: dict[str, str]
    n_doors: int
    notes: tuple[str, ...]

    @cached_property
    def looks(self) -> list[Look]:
        """What to look at again, the most callbacks avoided a minute first, over all doors."""
        acts: dict[tuple[str, str], list[dict[str, Any]]] = {}
        for row in self.rows:
            if row["deviation"] is not None:
                acts.setdefault((row["install_id"], row["deviation"]), []).append(row)
        looks = [Look(tuple(_likeliest_first(rows))) for rows in acts.values()]
        return sorted(looks, key=lambda look: (-look.per_minute, look.first["install_id"], look.first["deviation"]))

    @cached_property
    def doors(self) -> list[DoorRisk]:
        """The doors, the likeliest to come back first."""
        by_door: dict[str, list[dict[str, Any]]] = {}
        for row in self.rows:
            by_door.setdefault(row["install_id"], []).append(row)
        doors = [DoorRisk(tuple(_likeliest_first(rows))) for rows in by_door.values()]
        return sorted(doors, key=lambda door: (-door.chance, door.name))

    @property
    def sentences(self) -> list[str]:
        """The list as lines to print where there is no terminal."""
        if not self.rows:
            return [*self.notes, *self.ending]
        lines = [self.look_heading, *(line for n, look in self.first_looks for line in self._look(n, look))]
        lines += [*self.looks_left, "", self.door_heading]
        lines += [line for door in self.doors[:MOST_DOORS] for line in self._door(door)]
        return [*self.notes, *lines, *self.doors_left, "", *self.ending]

    @property
    def first_looks(self) -> list[tuple[int, Look]]:
        """As many as a person reads, numbered from 1."""
        return list(enumerate(self.looks[:MOST_LOOKS], start=1))

    @property
    def look_heading(self) -> str:
        """What the list of looks says first."""
        read = f"{counted(self.n_doors, 'door')} read"
        if not self.looks:
            return f"{read}. Nothing to look at again: nothing is worse than on good doors."
        return f"{read}. Look at these again before they are handed over, the most callbacks avoided a minute first:"

    @property
    def door_heading(self) -> str:
        """What the list of doors says first."""
        return (
            "How likely each door is to come back within 12 months, by fault, with 95 % intervals for doors with such "
            "a record:"
        )

    @property
    def looks_left(self) -> list[str]:
        """How many looks stand in --json only."""
        left = len(self.looks) - MOST_LOOKS
        return [f"{left} more to look at spare less a minute; --json lists all."] if left > 0 else []

    @property
    def doors_left(self) -> list[str]:
        """How many doors stand in --json only."""
        left = len(self.doors) - MOST_DOORS
        return [f"{left} more doors are less likely to come back; --json lists all."] if left > 0 else []

    @property
    def ending(self) -> list[str]:
        """How far to trust it, and what to beware of."""
        if not self.rows:
            return [f"{counted(self.n_doors, 'door')} read; {NO_RISK}", *cautions(set(CAUTIONS))]
        steps = {row["step"] for row in self.rows if row["step"]}
        return [calibration_sentence(self.rows[0]), *cautions(steps)]

    def against(self, look: Look) -> str:
        """The faults that a look spares: `water ingress 23 % (14 to 35 %), 3.1 times the usual door`."""
        return "; ".join(f"{self.fault(row)} {chance_words(row)}, {usual_words(row)}" for row in look.rows)

    def fault(self, row: dict[str, Any]) -> str:
        """The fault in words."""
        return self.words.get(row["fault"], row["fault"].replace("_", " "))

    def _look(self, n: int, look: Look) -> Iterator[str]:
        door, crew = look.first["install_id"], crew_name(look.first["crew"])
        yield f"{n:>3}. Door {door}, {crew}, {look.because}"
        yield f"     {look.do} {look.first['minutes']:.0f} min, {worth(look)} callbacks avoided on 100 such doors."
        yield f"     Against {self.against(look)}."

    def _door(self, door: DoorRisk) -> Iterator[str]:
        yield f"Door {door.name}, {door.crew}: {percent(door.chance)}"
        for row in door.rows[:MOST_FAULTS]:
            yield f"     {self.fault(row)} {chance_words(row)}, {usual_words(row)}: {row['because']} ({behind(row)})"
        if others := others_of(door):
            yield f"     {others.count}, together {percent(others.chance)}"

    def as_json(self) -> dict[str, Any]:
        """The same for a program."""
        rows = self.rows
        return {
            "doors": self.n_doors, "look_again": [_look_json(look) for look in self.looks], "rows": rows,
            "calibration": calibration_sentence(rows[0]) if rows else None, "notes": list(self.notes),
            "cautions": cautions({row["step"] for row in rows if row["step"]} or set(CAUTIONS)),
        }  # fmt: skip


def calibration_sentence(row: dict[str, Any]) -> str:
    """How what was foretold held on later callbacks, of any row of the table."""
    kept = f"the risks here trust {percent(row['kept'])} of the differences foretold"
    if row["slope"] is None:
        return f"How well risks are foretold cannot be judged yet, too few callbacks came later; {kept}."
    ends = f"{row['slope']:.2f} ({row['slope_low']:.2f} to {row['slope_high']:.2f})"
    if row["slope_high"] < 1:
        verdict = f"less than foretold, so the risks are drawn together: {kept}, the rest may be chance"
    elif row["slope_low"] > 1:
        verdict = f"more than foretold; {kept} and do not stretch them"
    else:
        verdict = f"as foretold as far as chance lets one see; {kept}"
    return (
        f"Judged on the firm's own {row['slope_events']} later callbacks, differences between doors were {ends} times "
        f"as large as the earlier records foretold: {verdict}. Minutes are common practice."
    )


def cautions(steps: set[str]) -> list[str]:
    """What to beware of: for heavy glass and height always, since every look may end in lifting a leaf."""
    always = ("frame", "hanging")
    told = [CAUTIONS[step] for step in CAUTIONS if step in steps or step in always]
    return [DEFERS, *(told if steps & {"sill"} else [CAUTIONS["sill"], *told])]


def chance_words(row: dict[str, Any]) -> str:
    """`23 % (14 to 35 %)`."""
    low, high = (percent(row[name]) for name in ("risk_low", "risk_high"))
    return f"{percent(row['risk'])} ({low.removesuffix(' %')} to {high})"


def usual_words(row: dict[str, Any]) -> str:
    """`3.1 times the usual door`."""
    return f"{row['risk_ratio']:.1f} times the usual door"


def behind(row: dict[str, Any]) -> str:
    """`42 first callbacks, 1,480 doors`."""
    return f"{row['events']:,} first callbacks, {row['doors']:,} doors"


@dataclass(frozen=True)
class Others:
    """The faults of a door that are not listed: `10 other faults`, and the chance of any of them."""

    count: str
    chance: float


def others_of(door: DoorRisk) -> Others | None:
    """The faults that are not listed; None where all are."""
    others = door.rows[MOST_FAULTS:]
    if not others:
        return None
    return Others(counted(len(others), "other fault"), DoorRisk(others).chance)


def worth(look: Look) -> str:
    """Callbacks avoided on 100 such doors."""
    return f"{100 * look.avoided:.1f}"


def percent(share: float) -> str:
    """`12 %`; below 10 % with one decimal place."""
    return f"{100 * share:.0f} %" if share >= 0.0995 else f"{100 * share:.1f} %"


def _likeliest_first(rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    return sorted(rows, key=lambda row: (-row["risk"], row["fault"]))


def _look_json(look: Look) -> dict[str, Any]:
    same = {name: look.first[name] for name in ("install_id", "crew", "step", "deviation", "because", "do", "minutes")}
    faults = [row["fault"] for row in look.rows]
    return {**same, "faults": faults, "avoided": look.avoided, "avoided_per_minute": look.per_minute}

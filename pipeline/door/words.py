"""What a door's sheet says, in plain English: what is out, what it came back for, what most accounts for it."""

from dataclasses import dataclass

from pipeline.door.life import Event, counts_of, years_words
from pipeline.door.limits import figure
from pipeline.door.trail import DoorTrail, Row
from pipeline.report.numbers import Interval, as_name, capital, counted, day, listed, number
from pipeline.report.rows.table_rows import SHOWN
from pipeline.report.words.common import crew_name, with_unit

LONGEST_NAME = 60  # signs of a door's number that a headline bears
LEAST_PART = 0.01  # what is less shows as 0 %
# Faults after which nobody should move the door before it is looked at.
UNSAFE = ("roller_damage", "hinge_fault", "broken_glass")
DO_NOT_OPERATE = (
    "Do not operate this door before it has been looked at: prop and isolate a leaf that is off its rollers or hinge, "
    "keep people from broken glass, and call today."
)


@dataclass(frozen=True)
class Standing:
    """How the door stands: limits held against it by decision, and its checks."""

    out: tuple[Row, ...]
    undecided: tuple[Row, ...]
    judged: int
    not_recorded: tuple[Row, ...]
    failed: tuple[Row, ...]
    checks: int


def standing_of(trail: DoorTrail) -> Standing:
    """From its limit decisions and its checks; of a deviation the tables hold one row a limit."""
    by = {
        word: tuple(row for row in trail.limits if row["decision"] == word)
        for word in ("out", "undecided", "within", "not recorded")
    }
    checks = [row for row in trail.deviations if row["how"] == "checks" and row["value"] is not None]
    judged = len(by["out"]) + len(by["undecided"]) + len(by["within"])
    failed = tuple(row for row in checks if row["value"] > 0)
    return Standing(by["out"], by["undecided"], judged, by["not recorded"], failed, len(checks))


def shown_id(trail: DoorTrail) -> str:
    """The door's number as one line, cut where it is endless."""
    name = as_name(trail.facts["install_id"]) or "without a visible number"
    return name if len(name) <= LONGEST_NAME else f"{name[:LONGEST_NAME]}…"


def came_back(trail: DoorTrail, events: tuple[Event, ...]) -> str:
    """What it came back for, and what most accounts for it."""
    return " ".join(part for part in (_calls(trail, events), _because(trail, events)) if part)


def headline(trail: DoorTrail, standing: Standing) -> str:
    """Beyond how many of its limits it is, and how many of its checks failed."""
    name = f"Door {shown_id(trail)}"
    failed = f"{len(standing.failed)} of {counted(standing.checks, 'check')} failed" if standing.failed else ""
    if not standing.judged and not standing.checks:
        return f"{name}: nothing is recorded that a limit can be held against."
    if not standing.judged:
        return f"{name}: no reading is held against a limit; {failed or f'all {standing.checks} checks passed'}."
    said = []
    if standing.out:
        beyond = "the one limit" if standing.judged == 1 else f"{len(standing.out)} of the {standing.judged} limits"
        said.append(f"beyond {beyond} it could be held against")
    elif not standing.undecided:
        which = "the one limit" if standing.judged == 1 else f"all {standing.judged} limits"
        said.append(f"within {which} it could be held against")
    if standing.undecided and not standing.out:
        said.append(f"beyond no limit for certain, {len(standing.undecided)} of {standing.judged} cannot be decided")
    return f"{name}: {' and '.join([*said, failed] if failed else said)}."


def _calls(trail: DoorTrail, events: tuple[Event, ...]) -> str:
    counts, years = counts_of(events), trail.facts["door_years"]
    calls = sum(counts.values()) - counts["pre_handover"] - counts["outside"]
    if not calls:
        return (
            f"It was not called back in the {years_words(years)} it was watched." if years else "It is not watched yet."
        )
    if calls == 1:
        return f"It was called back once in {years_words(years)}."
    new = "each time" if counts["episode"] == calls else f"{counts['episode']} of them"
    return f"It was called back {calls} times in {years_words(years)}, {new} with a new fault."


def _because(trail: DoorTrail, events: tuple[Event, ...]) -> str:
    cause = most_of(trail)
    if cause is None:
        return "Nothing that was read of it surely accounts for a part of that." if trail.causes else ""
    of = next(event for event in events if event.callback and event.callback["callback_id"] == cause["callback_id"])
    return (
        f"What most surely accounts for a part of it: {as_name(cause['words'])}, {share_words(cause)} of the call for "
        f"{of.words} on {day(of.on)}."
    )


def most_of(trail: DoorTrail) -> Row | None:
    """The cause recorded on the door whose part of any of its callbacks is surely the largest: by its lower end."""
    known = [row for row in trail.causes if is_sure(row)]
    return max(known, key=lambda row: (row["low"], row["share"]), default=None)


def is_sure(row: Row) -> bool:
    """A cause with evidence, recorded on the door, that accounts for a part even at the lower end of its interval."""
    return bool(row["evidence"] in SHOWN and row["is_recorded"] and row["low"] >= LEAST_PART)


def share_words(row: Row) -> str:
    """`49 % (34 to 64)`."""
    return Interval(row["share"], row["low"], row["high"]).words(100, " %", 0)


def lead(trail: DoorTrail, standing: Standing, came: str) -> tuple[str, ...]:
    """What it came back for (`came`) and what that rests on; which door it is; what cannot be told."""
    said = (f"{came} {_basis(trail)}".strip(), _door(trail.facts), _undecided(standing), _gaps(standing))
    return tuple(part for part in said if part)


def warning(trail: DoorTrail) -> str:
    """What comes before any reading of this door; empty for most."""
    return DO_NOT_OPERATE if _is_unsafe(trail) else ""


def _is_unsafe(trail: DoorTrail) -> bool:
    """The last call was for something that may fall, and no visit is on record since."""
    if not trail.callbacks or trail.callbacks[-1]["visited_on"] or trail.facts["removed_on"]:
        return False
    last = trail.callbacks[-1]["callback_id"]
    return any(row["callback_id"] == last and row["fault"] in UNSAFE for row in trail.faults)


def _door(facts: Row) -> str:
    size = " × ".join(number(facts[name]) for name in ("width_mm", "height_mm") if facts[name])
    parts = [capital(crew_name(facts["crew"]))]
    parts += [" ".join(as_name(facts[name]) for name in ("product", "material", "colour", "work") if facts[name])]
    parts += [counted(facts["leaves"], "leaf", "leaves") if facts["leaves"] else "", f"{size} mm" if size else ""]
    parts += [f"fitted {day(facts['fitted_on'])}"] if facts["fitted_on"] else []
    return ", ".join(part for part in parts if part) + "."


def _undecided(standing: Standing) -> str:
    unsure = listed([held(row) for row in standing.undecided], most=8)
    return f"Undecided, since the instrument cannot tell: {unsure}." if unsure else ""


def held(row: Row) -> str:
    """`sill out of level 3.41 mm (limit 3)`, of a limit decision."""
    if row["unit"] == "share":
        return as_name(row["words"])
    value = with_unit(figure(row["value"]), row["unit"])
    limit = "" if row["limit_value"] is None else f" (limit {figure(row['limit_value'])})"
    return f"{as_name(row['words'])} {value}{limit}"


def _basis(trail: DoorTrail) -> str:
    cause = most_of(trail)
    if cause is None:
        return ""
    faults = cause["faults"].split("; ")
    rows = [row for row in trail.effects if row["deviation"] == cause["deviation"] and row["fault"] in faults]
    said = listed([
        f"{counted(row['doors'], 'door')} and {counted(row['events'], 'first callback')} for {as_name(row['words'])}"
        for row in rows
    ])  # fmt: skip
    return f"That part rests on {said} of the whole firm; it is an association, not proof." if said else ""


def _gaps(standing: Standing) -> str:
    missing = standing.not_recorded
    if not missing:
        return ""
    names = listed(list(dict.fromkeys(as_name(row["limit"]) for row in missing)), most=6)
    subject = f"{capital(counted(len(missing), 'limit'))} that {'applies' if len(missing) == 1 else 'apply'}"
    return f"{subject} could not be held, for want of readings: {names}."

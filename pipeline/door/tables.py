"""The lists and tables of a door's sheet: its life, its deviations against their limits, every reading and its row."""

from pipeline.door.captions import cause_words
from pipeline.door.life import KIND_WORDS, Event
from pipeline.door.limits import SEVERITY, figure
from pipeline.door.terminal import outcomes, place
from pipeline.door.trail import DoorTrail, Row
from pipeline.door.words import share_words
from pipeline.report.numbers import as_name, capital, counted, day, listed, measured, number, percent, plain
from pipeline.report.rows.first_cause_rows import UNEXPLAINED
from pipeline.report.sheet import Item, Listing, Passage, Table
from pipeline.report.words.common import with_unit

MADE_OF = "File, sheet, row and column say where each number was read; n is how many readings or checks are behind it."
FOUND = {"install_id": "by its door number", "job_no": "by its job number", "matched": "by what it says"}
ANSWERS = {"unknown": "who answers for it is not recorded", "none": "nobody answers for it"}


def life_listing(trail: DoorTrail, events: tuple[Event, ...]) -> Listing:
    """The events in order, each with the row that it was read from."""
    return Listing("life-list", "Its life, in order", tuple(_event(trail, event) for event in events))


def _event(trail: DoorTrail, event: Event) -> Item:
    lead = f"{event.letter} {day(event.on)}." if event.letter else f"{day(event.on)}."
    if event.callback is None:
        where = "; ".join(place(row) for row in trail.rows if row["state"] == "current")
        is_read = event.kind.endswith("_on") and event.kind not in ("from_on", "until_on")
        return Item(f"{capital(event.words)}{f' ({as_name(where)})' if is_read and where else ''}.", lead)
    row = event.callback
    visited = f", visited {day(row['visited_on'])}" if row["visited_on"] else ""
    chance = f", chance {percent(row['probability'])}" if row["how"] == "matched" else ""
    answers = ANSWERS.get(row["responsibility"], f"answered for by: {as_name(row['responsibility'])}")
    found = f"{FOUND.get(row['how'], as_name(row['how']))}{chance}"
    told = f"{capital(event.words)}: {KIND_WORDS[event.kind]}{visited}; {answers}."
    return Item(f"{told} Call {as_name(row['callback_id'])}, found {found} ({as_name(place(row))}).", lead)


def causes_table(trail: DoorTrail, events: tuple[Event, ...]) -> Table | None:
    """What accounts for each call, in numbers; None where no call has causes."""
    calls = [(event, event.callback) for event in events if event.callback]
    rows = [_cause(trail, event, row) for event, callback in calls for row in trail.causes_of(callback)]
    columns = ("call", "what accounts for it", "part of it", "here", "a good door", "doors", "first calls")
    how = "Doors and first calls: how many of the whole firm tell the effect of that deviation on that fault."
    says = "What accounts for its callbacks, in numbers"
    return Table("causes-table", says, columns, tuple(rows), how, frozenset({3, 4, 5, 6})) if rows else None


def _cause(trail: DoorTrail, event: Event, row: Row) -> tuple[str, ...]:
    faults = (row["faults"] or "").split("; ")
    behind = [one for one in trail.effects if one["deviation"] == row["deviation"] and one["fault"] in faults]
    is_shown = row["deviation"] != UNEXPLAINED and row["is_recorded"] and row["unit"] != "share"
    here, good = (with_unit(figure(row[name]), row["unit"]) if is_shown else "" for name in ("value", "good_value"))
    hidden = f", {counted(row['unrecorded'], 'known cause')} not recorded here" if row["unrecorded"] else ""
    return (
        f"{event.letter} {event.words}", cause_words(row) + hidden, share_words(row), here, good,
        " · ".join(number(one["doors"]) for one in behind), " · ".join(number(one["events"]) for one in behind),
    )  # fmt: skip


def limits_table(trail: DoorTrail) -> Table | None:
    """Every limit that was held, the gravest first; None where none was."""
    held = [row for row in trail.limits if row["decision"] != "not recorded"]
    if not held:
        return None
    doubts = {row["deviation"]: (row["uncertainty"], row["readings"]) for row in trail.deviations}
    rows = tuple(_limit(row, *doubts[row["deviation"]]) for row in sorted(held, key=_gravity, reverse=True))
    columns = ("deviation", "value", "standard uncertainty", "n", "limit", "decision", "chance of being out", "by")
    how = (
        "The gravest first. Undecided: the value lies too near its limit for the instrument. Limits defer to the "
        "product's own instructions."
    )
    says = f"Held against {counted(len(held), 'limit')}: {listed(_counts(held))}"
    return Table("limits", says, columns, rows, how, frozenset({1, 2, 3, 6}), is_open=True)


def _gravity(row: Row) -> int:
    return SEVERITY[row["decision"]]


def _counts(held: list[Row]) -> list[str]:
    numbers = {word: sum(row["decision"] == word for row in held) for word in ("out", "undecided", "within")}
    return [f"{count} {word}" for word, count in numbers.items() if count]


def _limit(row: Row, uncertainty: float | None, readings: int | None) -> tuple[str, ...]:
    return (
        as_name(row["words"]), _value_of(row, uncertainty), _doubt(uncertainty, row["unit"]), number(readings or 0),
        _bounds(row), row["decision"], percent(row["probability_out"]), as_name(row["source"]),
    )  # fmt: skip


def _bounds(limit: Row) -> str:
    sides = [("at least", limit["lower_limit"]), ("at most", limit["upper_limit"])]
    return " and ".join(f"{words} {figure(side)}" for words, side in sides if side is not None) or "size not known"


def _doubt(uncertainty: float | None, unit: str) -> str:
    return with_unit(plain(uncertainty, 2), unit) if uncertainty else ""


def deviations_table(trail: DoorTrail) -> Table | None:
    """Every deviation and check in the order of the work."""
    if not trail.deviations:
        return None
    rows = tuple(
        (
            as_name(row["words"]), row["step"], _value(row), _doubt(row["uncertainty"], row["unit"]),
            number(row["readings"] or 0),
        )
        for row in trail.deviations
    )  # fmt: skip
    columns = ("deviation", "step", "value", "standard uncertainty", "n")
    says = "All that was read and seen, in the order of the work"
    return Table("deviations", says, columns, rows, "", frozenset({2, 3, 4}))


def _value(row: Row) -> str:
    if row["value"] is None:
        return "too few readings"
    if row["how"] == "checks":
        return outcomes(row)
    return _value_of(row, row["uncertainty"])


def _value_of(row: Row, uncertainty: float | None) -> str:
    if row["unit"] == "share":
        return percent(row["value"])
    return with_unit(measured(row["value"], uncertainty), row["unit"])


def readings_table(trail: DoorTrail) -> Table | None:
    """Every reading taken in, as read and as written, with its row."""
    if not trail.readings:
        return None
    columns = ("reading", "where", "value", "written", "read on", "counts", "file, sheet, row, column")
    rows = tuple(_reading(row) for row in trail.readings)
    counts = sum(row["state"] == "counts" for row in trail.readings)
    says = f"{counted(len(rows), 'reading')}, {'all' if counts == len(rows) else counts} of which count"
    return Table("readings", says, columns, rows, MADE_OF, frozenset({2}))


def _reading(row: Row) -> tuple[str, ...]:
    at = None if row["position_mm"] is None else f"at {number(row['position_mm'])}"
    where = _plain(row["member"], row["station"], at)
    value = "fine, no number" if row["value"] is None else with_unit(_exact(row["value"]), row["unit"] or "")
    written = "" if row["written_value"] is None else f"{_exact(row['written_value'])} {as_name(row['written_unit'])}"
    counts = "yes" if row["state"] == "counts" else as_name(row["state"])
    on = day(row["read_on"]) if row["read_on"] else "undated"
    return as_name(row["words"]), where, value, written.strip(), on, counts, as_name(place(row))


def _plain(*names: str | None) -> str:
    """Names of the catalogue as words, those that there are."""
    return " ".join(as_name(name).replace("_", " ") for name in names if name)


def _exact(value: float) -> str:
    """As read, to a thousandth."""
    shown = number(value, 3)
    return shown.rstrip("0").rstrip(".")


def checks_table(trail: DoorTrail) -> Table | None:
    """Every check with its row."""
    if not trail.checks:
        return None
    columns = ("check", "outcome", "fails if", "on", "file, sheet, row, column")
    rows = tuple(
        (
            _plain(row["check"], row["member"]), _plain(row["outcome"]), as_name(row["words"]),
            day(row["checked_on"]) if row["checked_on"] else "undated", as_name(place(row)),
        )
        for row in trail.checks
    )  # fmt: skip
    return Table("checks", counted(len(rows), "check"), columns, rows, MADE_OF)


def not_recorded(trail: DoorTrail, missing_views: list[str]) -> Passage:
    """What is not known of the door, so that nobody takes an empty place for a good one."""
    limits = [row for row in trail.limits if row["decision"] == "not recorded"]
    said = [
        f"Not read, so not held against a limit: {listed([as_name(row['words']) for row in limits], most=40)}."
    ] if limits else ["Every limit that applies to this door could be held."]  # fmt: skip
    if missing_views:
        said.append(f"Not drawn: {listed(missing_views)}.")
    fine = sum(row["value"] is None for row in trail.readings)
    if fine:
        said.append(f"{counted(fine, 'reading')} only said to be fine, without a number: no zero, and not drawn.")
    later = sum(row["state"] == "after its time" for row in trail.readings)
    if later:
        said.append(f"{counted(later, 'reading')} taken after handover or a call: another state of it, not drawn.")
    said.append("The records have no place for which side a leaf is hinged, nor for what a visit changed.")
    return Passage("not-recorded", "What is not recorded", tuple(said))

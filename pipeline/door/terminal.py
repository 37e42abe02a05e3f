"""A door's trail as lines for a terminal: every number followed to file, sheet, row and column."""

from pipeline.door.trail import DoorTrail, Row
from pipeline.report.numbers import measured, plain
from pipeline.report.rows.first_cause_rows import UNEXPLAINED
from pipeline.report.rows.table_rows import SHOWN
from pipeline.report.words.common import crew_name

EXPECTED = "as the trade expects, not shown by these records"


def lines_of(trail: DoorTrail) -> list[str]:
    """The trail as lines to print."""
    return [
        _facts(trail.facts),
        *(f"  {place(row)}{_state(row, 'current')}" for row in trail.rows),
        *_block("Deviations, in the order of the work", [_deviation(trail, row) for row in trail.deviations]),
        *_block("Readings", [_reading(row) for row in trail.readings]),
        *_block("Checks", [_check(row) for row in trail.checks]),
        *_block("Callbacks", [line for row in trail.callbacks for line in _with_causes(trail, row)]),
    ]


def _with_causes(trail: DoorTrail, row: Row) -> list[str]:
    return [_callback(row), *(f"  {_cause(cause)}" for cause in trail.causes_of(row))]


def _deviation(trail: DoorTrail, row: Row) -> str:
    limits = [limit for limit in trail.limits if limit["decision"] != "not recorded"]
    held = "; ".join(_limit(limit) for limit in limits if limit["deviation"] == row["deviation"])
    source = f" from {row['measure']}" if row["measure"] else ""
    return (
        f"{row['step']}: {row['deviation']}: {_value(row)} (n {row['readings']}{source}){f'; {held}' if held else ''}"
    )


def _value(row: Row) -> str:
    if row["value"] is None:
        return "too few readings"
    if row["how"] == "checks":
        return outcomes(row)
    doubt = f", standard uncertainty {row['uncertainty']:.2g}" if row["uncertainty"] else ""
    if row["unit"] == "share":
        return f"{_percent(row['value'])}{doubt}"
    return f"{measured(row['value'], row['uncertainty'])} {row['unit']}{doubt}"


def outcomes(row: Row) -> str:
    """Of the checks of one kind: passed, failed, or how many of several failed."""
    failed, n = round(row["value"] * row["readings"]), row["readings"]
    if n == 1:
        return "failed" if failed else "passed"
    return f"{failed} of {n} failed" if failed else "passed"


def _facts(facts: Row) -> str:
    days = (("fitted", "fitted_on"), ("handed over", "handed_over_on"), ("removed", "removed_on"))
    said = [f"{word} {facts[name]:%Y-%m-%d}" for word, name in days if facts[name]]
    size = " x ".join(f"{facts[name]:.10g}" for name in ("width_mm", "height_mm") if facts[name])
    said += [f"{size} mm"] if size else []
    said += [f"{facts['leaves']} leaves"] if facts["leaves"] else []
    return f"Door {facts['install_id']}, {crew_name(facts['crew'])}: {', '.join(said)}."


def _block(heading: str, lines: list[str]) -> list[str]:
    return [f"{heading}:", *(f"  {line}" for line in lines)] if lines else [f"{heading}: none on record."]


def _limit(limit: Row) -> str:
    at = "" if limit["limit_value"] is None else f" {limit['limit_value']:.4g}"
    return f"{limit['limit']}{at}: {limit['decision']}"


def _reading(row: Row) -> str:
    at = [row["member"], row["station"], None if row["position_mm"] is None else f"at {row['position_mm']:.10g} mm"]
    what = " ".join(part for part in (row["measure"], *at) if part)
    day = f", {row['read_on']:%Y-%m-%d}" if row["read_on"] else ", undated"
    raw = f" as {row['raw']}" if row["raw"] else ""
    return f"{what}: {_number(row)}{raw}{day}: {place(row)}{_state(row, 'counts')}"


def _number(row: Row) -> str:
    if row["value"] is None:
        return "said to be fine, no number"
    return f"{row['value']:.10g} {row['unit'] or ''}".strip()


def _check(row: Row) -> str:
    member = f" {row['member']}" if row["member"] else ""
    return f"{row['check']}{member} {row['outcome']}: {place(row)}{_state(row, 'current')}"


def _callback(row: Row) -> str:
    chance = f", chance {row['probability']:.2f}" if row["how"] == "matched" else ""
    kind = f", {row['kind']}" if row["kind"] else ""
    faults = row["faults"] or "unclear"
    return f"{row['callback_id']} {row['reported_on']:%Y-%m-%d} {faults}{kind}; by {row['how']}{chance}: {place(row)}"


def _cause(row: Row) -> str:
    """What accounts for a part of a callback, with its 95 % interval."""
    share = f"{_percent(row['share'])} ({_percent(row['low'])} to {_percent(row['high'])})"
    if row["deviation"] == UNEXPLAINED:
        n = row["unrecorded"]
        hidden = f"; {n} known {'cause is' if n == 1 else 'causes are'} not recorded on this door" if n else ""
        if row["low"] == 1.0:  # nothing else stands beside it
            return f"nothing recorded accounts for it{hidden}"
        return f"not explained by what is recorded: {share}{hidden}"
    is_recorded, is_shown = row["is_recorded"], row["evidence"] in SHOWN
    read = _beside_a_good_door(row) if is_recorded else ", not recorded here"
    others = "" if is_recorded else ", going by others called back for the same"
    goes, expected = "goes" if is_recorded and is_shown else "may go", "" if is_shown else f", {EXPECTED}"
    if row["through"]:
        expected = f", by way of {row['through']}"
    return f"{goes} with {row['words']}{read}: {share} of it{others}{expected}"


def _beside_a_good_door(row: Row) -> str:
    if row["unit"] == "share":  # a check that failed says so in its words
        return ""
    return f" {plain(row['value'])}, a good door {plain(row['good_value'])} {row['unit']}"


def _percent(share: float) -> str:
    return f"{100 * share:.0f} %"


def place(row: Row) -> str:
    """Where a row stands: file, sheet, row, column."""
    parts = [row["file"], row["sheet"] and f"sheet {row['sheet']}", row["row"] and f"row {row['row']}", row["column"]]
    return ", ".join(str(part) for part in parts if part)


def _state(row: Row, usual: str) -> str:
    return "" if row["state"] == usual else f" ({row['state']})"

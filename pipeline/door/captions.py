"""The words beside each drawing of a door: what it shows, how to read it, what follows."""

from collections.abc import Iterable

from pipeline.door.drawings.causes import Share, Shares
from pipeline.door.geometry import Points, fitted_line
from pipeline.door.life import Event, counts_of
from pipeline.door.limits import figure
from pipeline.door.trail import DoorTrail, Row
from pipeline.door.words import held, is_sure
from pipeline.report.numbers import as_name, counted, day, listed
from pipeline.report.rows.first_cause_rows import UNEXPLAINED
from pipeline.report.rows.table_rows import SHOWN
from pipeline.report.words.common import sentence
from pipeline.sheets.cautions import CAUTIONS

FRAME = (
    "sill_level_error", "sill_bow", "sill_chord_bow", "sill_tilt_in", "sill_line_bow", "frame_diagonal_difference",
    "frame_racking", "jamb_plumb_error", "jamb_lean_out", "jamb_twist", "head_parallel_error", "head_bow",
)  # fmt: skip
LEAVES = (
    "head_gap_spread", "threshold_gap_spread", "gap_taper", "side_gap_taper", "leaf_drop", "leaf_drop_rotation",
    "leaf_drop_racking", "leaf_diagonal_difference", "hinge_packer_count", "seal_compression_spread",
    "seal_compression_low", "running_force",
)  # fmt: skip
FIXINGS = (
    "sill_fixing_spacing", "fixing_spacing", "fixing_corner_distance", "fixing_shortfall", "unpackered_fixings",
    "perimeter_gap_shortfall",
)  # fmt: skip
COLOURS = "Red: out of its limit; ochre: the instrument cannot tell. Red chain lines: limits, hatched beyond."


def says(trail: DoorTrail, names: tuple[str, ...], subject: str) -> str:
    """What is out or undecided of these deviations, else that all that is recorded of them is within."""
    rows = [row for row in trail.limits if row["deviation"] in names and row["decision"] != "not recorded"]
    out = [held(row) for row in rows if row["decision"] == "out"]
    unsure = [held(row) for row in rows if row["decision"] == "undecided"]
    if out:
        return sentence(f"{subject}: {listed(out)} out")
    if unsure:
        return sentence(f"{subject}: {listed(unsure)} cannot be decided")
    if rows:
        which = "the one limit" if len(rows) == 1 else f"all {len(rows)} limits"
        return sentence(f"{subject}: within {which} that could be held")
    return sentence(f"{subject}: as read; no limit could be held")


def to_do(trail: DoorTrail, names: tuple[str, ...], steps: tuple[str, ...]) -> str:
    """What keeps these deviations within, and what to beware of first; empty where nothing is out."""
    out = {row["deviation"] for row in trail.limits if row["decision"] == "out"}
    acts = _acts(row for row in trail.deviations if row["deviation"] in out and row["deviation"] in names)
    return f"To keep within: {acts}. {' '.join(CAUTIONS[step] for step in steps)}" if acts else ""


def _acts(rows: Iterable[Row]) -> str:
    """What the work asks by these rows, each once, in their order."""
    acts = dict.fromkeys(as_name(row["do"]) for row in rows)
    return "; ".join(act for act in acts if act)


FRAME_HOW = (
    "To scale, seen from inside; errors are enlarged by the factor in the drawing. Grey chain line: the size ordered. "
    "Thick: as read, broken where the diagonals alone tell; a member without a thick line was not read. Numbers: mm "
    "over the left-hand reading, on jambs over the lowest, on a diagonal its length; under the sill its fall across. "
    f"{COLOURS}"
)
BOW_IS = " Bowed or dipped is how far a reading lies from that line."


def frame_how(trail: DoorTrail, sill: Points) -> str:
    """How to read the frame, and why the sill's numbers are not its deviations. sill: heights over the first, mm."""
    values = {row["deviation"]: row["value"] for row in trail.deviations}
    level, line = values.get("sill_level_error"), fitted_line(sill)
    if level is None or line is None:
        return FRAME_HOW
    sizes = (
        f"From its first reading to its last the sill {_slope(sill[-1][1])}; the straight line that fits all of them "
        f"best, drawn thin, {_slope(line.rise, level)}, and that is out of level: no single reading decides."
    )
    return f"{FRAME_HOW} {sizes}{BOW_IS if values.get('sill_bow') is not None else ''}"


def _slope(rise: float, size: float | None = None) -> str:
    """`rises 1.6 mm`. size: the same as the tables tell it, where they do."""
    told = figure(abs(rise) if size is None else size)
    if told == "0":
        return "is level"
    return f"{'rises' if rise > 0 else 'falls'} {told} mm"


LEAVES_HOW = (
    "Leaves to scale, counted from the left, each drawn hinged at its left; the gaps round them are enlarged by the "
    "factor in the drawing, their numbers in mm. A slanted line: the longer diagonal, and by how much. Under a leaf: "
    f"seal compression in mm, packers behind its hinges, force to run it. {COLOURS}"
)
FIXINGS_HOW = (
    "All to scale. Thick blue strokes: fixings; thin grey ones: packers; a ring: a fixing without a packer on both "
    "sides. Numbers at the corners: mm from the corner to the nearest fixing. Where two stand too far apart their "
    f"distance is given. {COLOURS}"
)
LIFE_HOW = (
    "Above the line: calls, a full red ring where one opened a new fault, an open one where it repeated one, blue "
    "before handover, grey outside the time the log covers. Below it: what was done. The letters are those of the list."
)
CAUSES_HOW = (
    "For each call that opened a fault, the part of it that each deviation accounts for, with its 95 % interval; the "
    "parts of one call sum to 100 %. A broken line: not recorded on this door, judged by others called back for the "
    "same. By way of another: the records show that it makes that one worse, and what that one does. Expected only: "
    "the trade expects it, these records do not show it; it counts as much as such causes have shown at this firm. "
    "Grey: what nothing explains. An association, not proof."
)


def life_says(events: tuple[Event, ...]) -> str:
    """How many calls, and what they were."""
    counts = counts_of(events)
    names = {
        "episode": "opened a new fault", "repeat": "repeated one", "pre_handover": "came before handover",
        "outside": "came outside the watch",
    }  # fmt: skip
    calls = sum(counts.values())
    if not calls:
        return "No call about this door is on record."
    kinds = {kind: words for kind, words in names.items() if counts[kind]}
    if len(kinds) == 1:
        return sentence(f"{counted(calls, 'call')} that {next(iter(kinds.values()))}")
    said = listed([f"{counts[kind]} {words}" for kind, words in kinds.items()])
    return sentence(f"{counted(calls, 'call')}: {said}")


def shares_of(trail: DoorTrail, events: tuple[Event, ...]) -> tuple[Shares, ...]:
    """What accounts for each call, in the order of the calls."""
    found = []
    for event in events:
        if event.callback and (rows := trail.causes_of(event.callback)):
            name = f"{event.letter} {event.words}, {day(event.on)}"
            found.append(Shares(name, tuple(_share(row) for row in rows)))
    return tuple(found)


def _share(row: Row) -> Share:
    is_open = row["deviation"] == UNEXPLAINED
    is_recorded = None if is_open else row["is_recorded"]
    return Share(_cause_name(row), _cause_mark(row), row["share"], row["low"], row["high"], is_recorded)


def cause_words(row: Row) -> str:
    """A cause as a reader names it, and what it stands on where that is not its own reading or no evidence."""
    return _cause_name(row) + _cause_mark(row)


def _cause_name(row: Row) -> str:
    return "not explained" if row["deviation"] == UNEXPLAINED else as_name(row["words"])


def _cause_mark(row: Row) -> str:
    if row["deviation"] == UNEXPLAINED:
        return ""
    read = "" if row["is_recorded"] else ", not read here"
    if row["through"]:
        return f"{read}, by way of {as_name(row['through'])}"
    return read + ("" if row["evidence"] in SHOWN else ", expected only")


def causes_says(trail: DoorTrail, calls: tuple[Shares, ...]) -> str:
    """Of how many calls anything recorded surely accounts for a part."""
    told = len({row["callback_id"] for row in trail.causes if is_sure(row)})
    subject = f"{counted(len(calls), 'call')} that opened a fault"
    if not told:
        return sentence(f"of {subject}, nothing that was read surely accounts for a part of any")
    which = "each" if told == len(calls) else str(told)
    return sentence(f"of {subject}, what was read surely accounts for a part of {which}")


def causes_how(calls: tuple[Shares, ...]) -> str:
    """How to read the shares, and which calls are not drawn."""
    drawn = with_causes(calls)
    bare = [call.name for call in calls if call not in drawn]
    return f"{CAUSES_HOW} Wholly unexplained, so not drawn: {listed(bare, most=12)}." if bare else CAUSES_HOW


def causes_do(trail: DoorTrail) -> str:
    """What the work asks where a cause surely accounts for a part; empty where none does."""
    acts = _acts(row for row in sorted(trail.causes, key=lambda row: -row["low"]) if is_sure(row))
    return f"What the work asks: {acts}." if acts else ""


def with_causes(calls: tuple[Shares, ...]) -> tuple[Shares, ...]:
    """Calls of which anything is accounted for."""
    return tuple(call for call in calls if any(cause.is_recorded is not None for cause in call.causes))

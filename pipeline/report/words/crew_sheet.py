"""What a crew's own sheet says: what to watch, where its limit lies, how to read it. It compares and blames nobody."""

from pipeline.report.numbers import capital, count, counted, cut, plain
from pipeline.report.rows.watch_rows import Gap, LimitInUse, UsualSide, WatchedThing
from pipeline.report.watching import side_words, watching
from pipeline.report.words.common import with_unit

MOST_SIGNS, MOST_HEAD, MOST_FAULT = 96, 48, 24  # of what a firm writes itself: a sheet is one page
MOST_LIMITS = 2
MOST_SIDES = 2
TELL_US = "Tell us even when it is out."
NOT_MARKED = (
    "Write the number down as you read it, before the door is handed over. You will not be marked down for a reading "
    "that is out: it is what puts the cause right, for you and for whoever comes after you."
)
NEXT_DOORS = "Your next doors: write each number here, out or not, and hand the sheet back."
ORDER = "In the order of the work, not of weight. This sheet is yours: it compares you with nobody."
USUAL = (
    "Too little is on record of your doors to choose for you yet: these are the usual three of the trade (common "
    "practice). Write your readings down and the next sheet is your own."
)
CHOSEN = "Chosen by what the records of the firm show to matter and what they hold of your own doors."
OUT_OF_PLUMB_ALIKE = "Both jambs lean the same way: turn the level end for end; it must read the same."
_DRILLING = "Before drilling: know what is in the wall and under the sill; if not, stop and have it surveyed."
_HEAVY = "Heavy leaf: enough people or lifters, gloves, goggles; never in wind. Off its rollers: prop, do not run."
# common practice, no source
CAUTIONS_OF_STEPS = {
    "survey": "Old doors: stop at board or putty that may hold asbestos. A head that moves is for an engineer.",
    "sill": _DRILLING,
    "frame": "Upper floor: guarding before the old door goes. Never cut, trim or jack a lintel or beam.",
    "hanging": _HEAVY,
    "glazing": "Without glass or beads a leaf has lost its brace: support it. Glass: lifters, gloves, eye protection.",
    "adjustment": "Folding leaves close on fingers: secure them before you reach in.",
}


def headline(crew: str) -> str:
    """`Crew K7: three things to watch`."""
    return f"{capital(crew)}: three things to watch"


def lead(rows: list[WatchedThing]) -> str:
    """How the three were chosen."""
    return USUAL if all(row.why == "usual" for row in rows) else f"{CHOSEN} {ORDER}"


def limit_words(row: WatchedThing, limits: list[LimitInUse]) -> str:
    """`at most 3 mm, and 1 mm a metre`: the limit for all doors, in few words."""
    if told := watching(row.deviation).limit:
        return told
    if row.is_check:
        return "every one, on every door"
    general = [_bounds(limit, row.unit) for limit in limits if not _of(limit)]
    return general[0] if general else "by product: see below"


def limit_number(row: WatchedThing, limits: list[LimitInUse]) -> str:
    """`3 mm`: what stands at the limit in the picture; empty where no one number does."""
    general = next((limit for limit in limits if not _of(limit)), None)
    if row.is_check or general is None or watching(row.deviation).limit:
        return ""
    bound = general.high if general.high is not None else general.low
    if bound is None:
        return f"{with_unit(plain(general.high_per_m), row.unit)}/m"
    return with_unit(plain(bound), row.unit)


def gap_table(gaps: list[Gap]) -> str:
    """`Gap a side in mm, by width to 1.5 / 3 / 4.5 m: timber 5 / 5 / 5; ...`: what the movement gap is held against."""
    widths = sorted({gap.up_to_mm for gap in gaps})
    by_frame: dict[str, dict[float, float]] = {}
    for gap in gaps:
        by_frame.setdefault(" ".join(filter(None, (gap.material, gap.colour))), {})[gap.up_to_mm] = gap.gap_mm
    shown = [f"{frame} {' / '.join(_gap(found.get(width)) for width in widths)}" for frame, found in by_frame.items()]
    to = " / ".join(plain(width / 1000) for width in widths)
    return f"Gap a side in mm, for a width to {to} m: {'; '.join(shown)}. Wider: ask the maker." if gaps else ""


def _gap(size: float | None) -> str:
    return "-" if size is None else plain(size)


def of_products(row: WatchedThing, limits: list[LimitInUse]) -> str:
    """`Pvc-u: at most 4 mm.`; empty where one limit holds for all."""
    own = [f"{_of(limit)}: {_bounds(limit, row.unit)}" for limit in limits if _of(limit)]
    more = [f"{len(own) - MOST_LIMITS} more by product"] if len(own) > MOST_LIMITS else []
    return f"{capital('; '.join([*own[:MOST_LIMITS], *more]))}." if own else ""


def _of(limit: LimitInUse) -> str:
    return " ".join(cut(part, 24) for part in (limit.product, limit.material) if part)


def _bounds(limit: LimitInUse, unit: str) -> str:
    parts = []
    if limit.low is not None:
        parts.append(f"at least {with_unit(plain(limit.low), unit)}")
    if limit.high is not None:
        parts.append(f"at most {with_unit(plain(limit.high), unit)}")
    if limit.high_per_m is not None:
        of = "height" if limit.along == "height" else "width"
        parts.append(f"{'' if parts else 'at most '}{with_unit(plain(limit.high_per_m), unit)} a metre of {of}")
    return " and ".join(parts)


def with_what(row: WatchedThing) -> str:
    """`Laser and staff, about 4 minutes a door.`"""
    instrument = watching(row.deviation).instrument
    minutes = f"about {counted(row.minutes, 'minute')} a door"
    return f"{capital(f'{instrument}, {minutes}' if instrument else minutes)}."


def why(row: WatchedThing) -> str:
    """What it goes with, as far as it is shown; of the usual three, that they are."""
    if row.fault_words:
        strength = "strong evidence" if row.evidence == "strong" else "a hint, not sure yet"
        return f"In the firm's records it goes with {cut(row.fault_words, MOST_FAULT)} ({strength})."
    return "One of the usual three of the trade." if row.why == "usual" else "Its limit is there to be kept."


def on_record(row: WatchedThing) -> str:
    """`On record for 142 of your doors, out on 64.`"""
    if not row.doors:
        return "Not on record for any of your doors yet: write it down."
    out = f"out on {count(row.doors_out)}" if row.doors_out else "out on none"
    blur = f"; on {count(row.doors_undecided)} the instrument cannot tell" if row.doors_undecided else ""
    return f"On record for {count(row.doors)} of your doors, {out}{blur}."


def usual_side(sides: list[UsualSide]) -> str:
    """Which way the crew usually errs; empty where none is shown or that way is no error."""
    told = {side.place: said for side in sides if (said := _side_says(side))}
    if not told:
        return ""
    by_jamb = {side.place: side.side for side in sides if side.place in told and side.measure == "jamb_edge"}
    alike = len(by_jamb) == 2 and len(set(by_jamb.values())) == 1
    says = f"Usually {'; '.join(list(told.values())[:MOST_SIDES])}."
    return f"{says} {OUT_OF_PLUMB_ALIKE}" if alike else says


def _side_says(side: UsualSide) -> str:
    words = side_words().get(side.place)
    said = words.of(side.side or 0) if words else ""
    if not said or side.size is None:
        return ""
    return f"{said}: {side.size.words(unit=f' {side.unit}')} on average, {counted(side.doors, 'door')}"


def sides_of(sides: list[UsualSide]) -> dict[str, int]:
    """The usual side by place, of those that are an error."""
    return {side.place: side.side or 0 for side in sides if _side_says(side)}

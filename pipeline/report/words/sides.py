"""Which way crews err, in sentences, none where the interval or the size does not carry it; and hinge against glass."""

from pipeline.report.numbers import capital, counted, listed
from pipeline.report.rows.watch_rows import UsualSide
from pipeline.report.watching import side_words
from pipeline.report.words.common import crew_name

HOW = (
    "The mean over the crew's doors with its sign and its 95 % interval, about nothing (the chain line). Ink and "
    "heavy: an error with a usual side, which is said where chance is ruled out over all crews (q at most 0.05) and "
    "the mean is half a millimetre or more. Grey: none shown. A mean near nothing is not a small error: errors to both "
    "sides cancel. Signs count as the record sheets write them, seen from inside: + to the right, up and to the "
    "outside."
)
DO = (
    "Where a line is heavy, set against it: the error has one cause, such as one hand, one pack or one instrument. "
    "Where all jambs lean one way, turn the level end for end first; it must read the same."
)
NONE_DO = "No usual side to work against: practise the reading itself, not a direction."
SPLIT = "racking_less_rotation"
DROP_HOW = (
    "The leaf that hangs lowest on each door, its drop split by its gaps: turned at the hinges (circle, upper line) or "
    "racked out of square (open diamond, lower line); means over the doors with 95 % intervals. Which of both is the "
    "larger is said, and drawn in ink, where chance is ruled out and they differ by half a millimetre or more."
)
DROP_DO = (
    "Turning: hinge screws, hinge packers and the hinge jamb. Racking: toe and heel the glass again. The one does not "
    "mend the other."
)


def shown(sides: list[UsualSide]) -> list[UsualSide]:
    """The usual sides that are an error, the largest first."""
    words = side_words()
    told = [side for side in sides if side.place in words and words[side.place].of(side.side or 0)]
    return sorted(told, key=lambda side: -abs(side.mean))


def says(sides: list[UsualSide]) -> str:
    """Caption: the largest usual side by crew, how many more, or that none is shown."""
    told = shown(sides)
    judged = [side for side in sides if side.place in side_words() and side.side is not None]
    of = f"{counted(len(judged), 'place')} of a crew that can be judged"
    if not told:
        return f"Which way crews err: no usual side that is an error is shown in {of}"
    first = told[0]
    size = first.size.words(unit=f" {first.unit}") if first.size else ""
    where = side_words()[first.place].of(first.side or 0)
    more = f"; {counted(len(told) - 1, 'other')} of {of}" if len(told) > 1 else ""
    return f"With {crew_name(first.crew)} {where}: {size} on average over {counted(first.doors, 'door')}{more}"


def which_way(sides: list[UsualSide], crew: str, deviations: set[str]) -> str:
    """Which way a crew usually errs in these deviations, by its largest usual side; else that none is shown."""
    told = [side for side in shown(sides) if side.crew == crew and side.deviation in deviations]
    judged = [side for side in sides if side.crew == crew and side.deviation in deviations and side.side is not None]
    if not told or told[0].size is None:
        return "It errs to no side clearly there." if judged else ""
    first, where = told[0], side_words()[told[0].place].of(told[0].side or 0)
    size = told[0].size.words(unit=f" {first.unit}")
    return f"Which way: {where}, {size} on average over {counted(first.doors, 'door')}."


def by_crew(sides: list[UsualSide]) -> dict[str, dict[str, UsualSide]]:
    """The parts of the drop and their difference, of crews that have all."""
    found: dict[str, dict[str, UsualSide]] = {}
    for side in sides:
        if side.measure in ("leaf_drop_rotation", "leaf_drop_racking", SPLIT):
            found.setdefault(side.crew, {})[side.measure] = side
    return {crew: parts for crew, parts in found.items() if len(parts) == 3}


def drop_says(parts: dict[str, dict[str, UsualSide]]) -> str:
    """Caption: with whom it is rather racking, with whom rather turning, or that neither is told apart."""
    ways = {side: [crew for crew, own in parts.items() if own[SPLIT].side == side] for side in (1, -1)}
    judged = [own[SPLIT] for own in parts.values() if own[SPLIT].side is not None]
    said = [
        *([f"rather racking with {listed([crew_name(crew) for crew in ways[1]])}"] if ways[1] else []),
        *([f"rather turning at the hinges with {listed([crew_name(crew) for crew in ways[-1]])}"] if ways[-1] else []),
    ]
    doors = counted(sum(part.doors for part in judged), "door")
    if not judged:
        return "Why leaves hang low: too few doors to tell hinges from glass"
    if not said:
        return f"Why leaves hang low: neither hinges nor glass stand out with any crew, over {doors}"
    return capital(f"Why leaves hang low: {'; '.join(said)}; over {doors}")

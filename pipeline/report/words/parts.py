"""Where an effect differs between crews, materials and seasons: sentences computed from the table."""

from itertools import groupby

from pipeline.report.numbers import Interval, as_name, counted, cut_inside, listed, plain
from pipeline.report.rows.part_rows import EffectPart
from pipeline.report.words.common import MOST_NAME, crew_name, pair

NOT_SHOWN = "No effect is shown to differ between crews, materials or seasons; few data tell little of it"
VERDICTS = {"differs": "differs", "alike": "not shown to differ", "too_few": "too few to tell"}
MANY = {"crew": "crews", "material": "materials", "season": "seasons"}
NOT_RECORDED = "not recorded"


def questions(parts: list[EffectPart]) -> list[list[EffectPart]]:
    """The rows of each question, in their order: one finding, parted in one way."""
    return [list(rows) for _, rows in groupby(parts, lambda part: part.asked)]


def differing(parts: list[EffectPart]) -> list[list[EffectPart]]:
    """The questions whose answer is that the effect differs."""
    return [rows for rows in questions(parts) if any(row.verdict == "differs" for row in rows)]


def says(parts: list[EffectPart]) -> str:
    """Heading of the section."""
    found = differing(parts)
    if not found:
        return NOT_SHOWN
    return f"Not alike everywhere: {listed([f'{pair(rows[0])} by {rows[0].by}' for rows in found], most=3)}"


def asked_says(parts: list[EffectPart]) -> str:
    """Of how many findings each question could be asked at all."""
    told = [rows[0] for rows in questions(parts) if any(row.verdict != "too_few" for row in rows)]
    n_found = len({part.asked[:2] for part in parts})
    counts = [f"{sum(row.by == by for row in told)} by {by}" for by in MANY]
    return (
        f"Each of {counted(n_found, 'finding')} was asked whether it is the same in every crew, material and season "
        f"of fitting; the records were enough for {listed(counts)}. That nothing is shown does not prove that they "
        "are alike: see how wide the intervals are in the table."
    )


def lead(rows: list[EffectPart]) -> str:
    """`sill out of level → stiff running.`"""
    return f"{pair(rows[0])}."


def differs_says(rows: list[EffectPart]) -> str:
    """How one effect differs, and what to do."""
    known = [(row.times, row) for row in rows if row.times is not None and not row.is_all_crews]
    known.sort(key=lambda pair: pair[0].estimate, reverse=True)
    compared = _compared(known[0], known[-1]) if known else ""
    if rows[0].by != "crew":
        return f"Stronger {compared}. {_first(known[0][1])}"
    whole = next(row for row in rows if row.is_all_crews)
    each = f"most {compared}, each crew drawn towards all" if known else f"spread {spread_words(whole)}"
    return (
        f"Differs between crews: for all {_common(whole.times)}; {each}. See first that crews read it the same way, "
        "then what those do whom it spares."
    )


def _compared(most: tuple[Interval, EffectPart], least: tuple[Interval, EffectPart]) -> str:
    often = f"{_where(most[1])}, {most[0].words(unit=' times')} as often"
    return f"{often}, against {least[0].words()} {_where(least[1])}"


def _common(times: Interval | None) -> str:
    return f"{times.words(unit=' times')} as often" if times else "not known"


def _where(row: EffectPart) -> str:
    if row.level == NOT_RECORDED:
        return f"where the {row.by} is not recorded"
    if row.by == "season":
        return f"on doors fitted {as_name(row.level)}"
    return f"in {crew_name(row.level) if row.by == 'crew' else cut_inside(row.level, MOST_NAME)}"


def _first(row: EffectPart) -> str:
    if row.level == NOT_RECORDED:
        return "Have it recorded, to know which doors these are."
    doors = f"{as_name(row.level)} doors" if row.by == "material" else f"doors fitted {as_name(row.level)}"
    return f"Watch it first on {doors}."


def spread_words(row: EffectPart) -> str:
    """How much crews differ, for the table."""
    if row.factor is None:
        return ""
    usual = f"a factor of {plain(row.factor, 2)}" if row.factor > 1 else "none seen"
    return f"{usual}, at most {plain(row.factor_high, 2)}" if row.factor_high is not None else usual


def part_name(row: EffectPart) -> str:
    """The part of the doors, for the table."""
    if row.is_all_crews:
        return "all crews"
    return crew_name(row.level) if row.by == "crew" else as_name(row.level)

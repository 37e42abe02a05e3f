"""The part of the training sheet on directions: which way each crew errs, hinge against glass, each crew's sheet."""

from pipeline.report.charts.sides import drop_chart, sides_chart
from pipeline.report.downloads import download
from pipeline.report.drawing.draw import draw
from pipeline.report.numbers import as_name, count, counted, number
from pipeline.report.reading import Results
from pipeline.report.rows.watch_rows import UsualSide
from pipeline.report.sheet import Block, Figure, Item, Listing, Table
from pipeline.report.sheets.crew_sheet import file_names, href, together
from pipeline.report.watching import side_words
from pipeline.report.words import sides as words
from pipeline.report.words.common import crew_name

MOST_ROWS = 800
MOST_LINKS = 200
COLUMNS = ("crew", "what", "mean (95 %)", "doors", "of these +", "of these −", "usual side")
DROPS = {
    "leaf_drop_rotation": "drop by turning at the hinges",
    "leaf_drop_racking": "drop by racking",
    words.SPLIT: "racking less turning",
}


def crew_sheet_links(results: Results) -> list[Block]:
    """Where the sheet of each crew lies; nothing where no crew is on record."""
    crews = results.crews()
    if not crews:
        return []
    files = file_names(crews)
    at_once = [Item("A page each, to print at once:", "", together(), "all sheets")] if len(crews) > 1 else []
    items = (
        *at_once,
        *(Item("", f"{crew_name(crew)}:", href(files[crew]), "its sheet") for crew in crews[:MOST_LINKS]),
    )
    how = (
        "One page a crew to hand out: three things to watch, the limit as a picture, how to read it. It has no other "
        "crew on it and no ranking."
    )
    return [Listing("crew-sheets", f"A sheet for {counted(len(crews), 'crew')} to print", items, how)]


def side_blocks(sides: list[UsualSide], results: Results) -> list[Block]:
    """Figures of directions and of drops with the table behind; nothing where no reading has a sign."""
    if not sides:
        return []
    parts = words.by_crew(sides)
    return [*_sides(sides), *([_drops(parts)] if parts else []), _table(sides, results)]


def _sides(sides: list[UsualSide]) -> list[Block]:
    if not any(side.place in side_words() and side.average for side in sides):
        return []
    says, title = words.says(sides), "Which way each crew errs, place by place"
    drawing = draw(lambda is_narrow: sides_chart(sides, is_narrow), "sides", title, says)
    return [Figure("sides", says, words.HOW, drawing, words.DO if words.shown(sides) else words.NONE_DO)]


def _drops(parts: dict[str, dict[str, UsualSide]]) -> Figure:
    says, title = words.drop_says(parts), "Drop of the lowest leaf by turning and by racking, crew by crew"
    drawing = draw(lambda is_narrow: drop_chart(parts, is_narrow), "drops", title, says)
    return Figure("drops", says, words.DROP_HOW, drawing, words.DROP_DO)


def _table(sides: list[UsualSide], results: Results) -> Table:
    says = f"The table behind: {counted(len(sides), 'mean')} with a sign"
    rows = tuple(_cells(side) for side in sides[:MOST_ROWS])
    saved = download("usual_sides", results.table("usual_sides"))
    return Table("usual", says, COLUMNS, rows, "", frozenset({3, 4, 5}), saved)


def _cells(side: UsualSide) -> tuple[str, ...]:
    known = side_words().get(side.place)
    told = "too few doors" if side.side is None else "none shown"
    if side.side and known:
        told = known.high if side.side > 0 else known.low
    if side.side and not known:
        told = "low at the lock" if side.measure != words.SPLIT else ("racking" if side.side > 0 else "turning")
    name = DROPS.get(side.measure) or (f"{known.short} (+ {known.high})" if known else side.place)
    mean = side.average.words(unit=f" {side.unit}") if side.average else number(side.mean, 1)
    return as_name(side.crew), name, mean, count(side.doors), count(side.doors_plus), count(side.doors_minus), told

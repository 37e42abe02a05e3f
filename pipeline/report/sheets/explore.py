"""Sheet 7, look for yourself: crew, product, time and fault are chosen once, and every drawing follows."""

from functools import cache

import polars as pl
from altair.utils.schemapi import debug_mode

from pipeline.report.charts.explore import EVERY, as_json, columns_chart, rows_chart
from pipeline.report.downloads import download
from pipeline.report.explored import Explored, cells, read_explored
from pipeline.report.explorer import Control, Explorer, View, as_markup, scripts
from pipeline.report.reading import Results
from pipeline.report.rows.table_rows import LEAST_DOORS, Firm
from pipeline.report.sheet import Passage, Sheet, TitleBlock, named
from pipeline.report.words import explore as words
from pipeline.report.words.common import who_was_counted
from pipeline.report.words.rates import NO_LOG

NAME = named("explore.html")
TABLES = ("explore_time", "explore_faults", "explore_steps")
# Which controls a drawing is bound to, and which of its rows or columns they choose.
FOLLOWS = {
    "periods": (("since", "until"), "datum.at >= toNumber(since) && datum.at <= toNumber(until)"),
    "crews": (("crew",), "crew == '' || datum.place == crew"),
    "products": (("product",), "product == '' || datum.place == product"),
    "faults": (("fault",), "fault == '' || datum.place == fault"),
    "steps": ((), EVERY),
}


def explore_sheet(results: Results, firm: Firm, title_block: TitleBlock) -> Sheet:
    """Everything on the linked sheet."""
    explored = read_explored(results)
    to_add = _to_add(explored, firm)
    if explored.is_empty:
        return Sheet(NAME, title_block, words.NOTHING_YET, (who_was_counted(firm, results.rates()),), to_add)
    keys = _keys(explored, firm)
    packed = as_markup(cells(explored, keys, firm.has_callback_log))
    explorer = Explorer(
        _controls(explored, firm), tuple(map(_view, keys)), packed,
        tuple(download(table, results.table(table)) for table in TABLES),
    )  # fmt: skip
    lead = (
        who_was_counted(firm, results.rates()),
        words.LEAD if firm.has_callback_log else NO_LOG,
        words.pooled(explored.pooled),
    )
    mind = Passage("mind", words.MIND, (words.NOT_ADJUSTED, words.BY_CHANCE))
    headline = words.HEADLINE if firm.has_callback_log else words.STEPS_ALONE
    return Sheet(NAME, title_block, headline, tuple(filter(None, lead)), (*to_add, explorer, mind), (), scripts())


def _to_add(explored: Explored, firm: Firm) -> tuple[Passage, ...]:
    """What a firm in its first weeks has to record or bring, before the drawings that cannot tell anything yet."""
    doors = explored.steps.group_by("step").agg(pl.col("doors").sum())["doors"].to_list()
    years = sum(explored.time["door_years"].to_list())
    asked = words.to_add(firm.has_callback_log, years, max(doors, default=0))
    return (Passage("add", "What to add", tuple(asked)),) if asked else ()


def _keys(explored: Explored, firm: Firm) -> tuple[str, ...]:
    """The drawings that have something to tell apart."""
    if not firm.has_callback_log:
        return ("steps",)
    is_plain = {"crews": len(explored.names["crew"]) < 2, "products": len(explored.names["product"]) < 2}
    return tuple(key for key in FOLLOWS if not is_plain.get(key))


def _controls(explored: Explored, firm: Firm) -> tuple[Control, ...]:
    listed = {name: [(str(at), each) for at, each in enumerate(explored.words(name))] for name in words.CONTROLS}
    periods = tuple((str(at), each) for at, each in enumerate(explored.words("period")))
    last = periods[-1][0] if periods else ""
    asked = [name for name in words.CONTROLS if name != "fault" or firm.has_callback_log]
    return (
        *(Control(name, name, (("", words.CONTROLS[name]), *listed[name])) for name in asked),
        Control("since", "from", periods, "0"),
        Control("until", "to", periods, last),
    )


@cache
def _view(key: str) -> View:
    # Checking each part against the chart grammar takes longer than all else; a test checks every chart instead.
    with debug_mode(False):
        return _drawn_view(key)


def _drawn_view(key: str) -> View:
    controls, is_of_choice = FOLLOWS[key]
    title = words.SHARE_TITLE if key == "steps" else words.RATE_TITLE
    narrow = rows_chart(title, is_of_choice, is_narrow=True)
    wide = columns_chart(title, is_of_choice) if key == "periods" else rows_chart(title, is_of_choice, is_narrow=False)
    forms = (as_markup(as_json(chart, controls)) for chart in (wide, narrow))
    how = words.HOW[key].format(least=LEAST_DOORS)
    return View(key, words.TITLES[key], how, words.DO[key], words.COLUMNS[key], *forms)

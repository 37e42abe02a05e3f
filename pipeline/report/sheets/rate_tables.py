"""The tables behind the owner's sheet: every crew, every month."""

from typing import NamedTuple

from pipeline.report.charts.rates import shown_crews
from pipeline.report.downloads import download
from pipeline.report.numbers import as_name, count, counted, moneys, month, number, one_precision
from pipeline.report.reading import Results
from pipeline.report.rows.table_rows import CrewRate, Firm, Month
from pipeline.report.sheet import Block, Table
from pipeline.report.words import fair_crews as fair_words

MOST_ROWS = 800
CREW_COLUMNS = (
    "crew",
    "doors",
    "door-years",
    "callbacks",
    "all callbacks",
    "per 100 door-years (95 %)",
    "expected",
    "fair ratio (95 %)",
    "place (95 %)",
    "on the firm's mix (95 %)",
    "told apart",
    "known cost",
)
MONTH_COLUMNS = (
    "month",
    "callbacks",
    "all callbacks",
    "door-years",
    "per 100 door-years (95 %)",
    "known cost",
    "paper",
)
TOLD = {1: "above the firm", -1: "below the firm", 0: ""}
PERHAPS = {1: "perhaps above", -1: "perhaps below", 0: "no"}


def crews_table(rates: list[CrewRate], firm: Firm, results: Results) -> Table:
    """The firm, then its crews from most to least watched."""
    says = f"The table behind: {counted(max(len(rates) - 1, 0), 'crew')} and the firm"
    shown = shown_crews([rate for rate in rates if rate.crew != "all"])
    digits = Digits(
        one_precision([rate.per_100 for rate in shown if rate.per_100]),
        one_precision([rate.fair for rate in shown if rate.fair]),
    )
    listed = rates[:MOST_ROWS]
    costs = moneys([rate.cost if rate.cost_known else None for rate in listed], firm.currency)
    rows = tuple((*_crew_cells(rate, digits), cost) for rate, cost in zip(listed, costs, strict=True))
    saved = download("callback_rates", results.table("callback_rates"))
    return Table("crews", says, CREW_COLUMNS, rows, "", frozenset({1, 2, 3, 4, 6, 11}), saved)


class Digits(NamedTuple):
    """Decimals of the figures above the table."""

    rate: int
    fair: int


def _crew_cells(rate: CrewRate, digits: Digits) -> tuple[str, ...]:
    is_firm = rate.crew == "all"
    return (
        "the firm" if is_firm else as_name(rate.crew),
        count(rate.doors),
        number(rate.door_years, 1),
        count(rate.callbacks),
        count(rate.callbacks_all),
        rate.per_100.words(digits=digits.rate) if rate.per_100 else "too few" if rate.door_years > 0 else "not watched",
        "" if rate.expected is None else number(rate.expected, 1),
        rate.fair.words(digits=digits.fair) if rate.fair else "",
        fair_words.place(rate),
        rate.direct.words(digits=digits.rate) if rate.direct else "not told" if rate.direct_note else "",
        "" if is_firm or rate.fair is None else TOLD[rate.side] or PERHAPS[rate.hint],
    )


def months_table(months: list[Month], firm: Firm, results: Results) -> list[Block]:
    """The months, newest first; nothing where there is none."""
    if not months:
        return []
    newest = list(reversed(months))
    costs = moneys([entry.cost for entry in newest], firm.currency)
    rows = tuple(_month_cells(entry, cost) for entry, cost in zip(newest, costs, strict=True))
    saved = download("callback_months", results.table("callback_months").sort("month"))
    says = f"The table behind: {counted(len(months), 'month')}"
    return [Table("trend", says, MONTH_COLUMNS, rows, "", frozenset({1, 2, 3, 5}), saved)]


def _month_cells(entry: Month, cost: str) -> tuple[str, ...]:
    return (
        month(entry.month),
        count(entry.callbacks),
        count(entry.callbacks_all),
        number(entry.door_years, 1),
        entry.per_100.words() if entry.per_100 else "too few" if entry.door_years > 0 else "",
        "" if entry.cost is None else cost,
        "" if entry.is_complete else "not complete",
    )

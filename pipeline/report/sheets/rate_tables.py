"""The tables behind the owner's sheet: every crew, every month."""

from pipeline.report.downloads import download
from pipeline.report.numbers import as_name, count, counted, money, month, number
from pipeline.report.reading import Results
from pipeline.report.rows import CrewRate, Firm, Month
from pipeline.report.sheet import Block, Table

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
    rows = tuple(_crew_cells(rate, firm) for rate in rates[:MOST_ROWS])
    saved = download("callback_rates", results.table("callback_rates"))
    return Table("crews", says, CREW_COLUMNS, rows, "", frozenset({1, 2, 3, 4, 6, 9}), saved)


def _crew_cells(rate: CrewRate, firm: Firm) -> tuple[str, ...]:
    is_firm = rate.crew == "all"
    return (
        "the firm" if is_firm else as_name(rate.crew),
        count(rate.doors),
        number(rate.door_years, 1),
        count(rate.callbacks),
        count(rate.callbacks_all),
        rate.per_100.words() if rate.per_100 else "too few" if rate.door_years > 0 else "not watched",
        "" if rate.expected is None else number(rate.expected, 1),
        rate.fair.words() if rate.fair else "",
        "" if is_firm or rate.fair is None else TOLD[rate.side] or PERHAPS[rate.hint],
        money(rate.cost, firm.currency) if rate.cost_known else "not known",
    )


def months_table(months: list[Month], firm: Firm, results: Results) -> list[Block]:
    """The months, newest first; nothing where there is none."""
    if not months:
        return []
    rows = tuple(_month_cells(entry, firm) for entry in reversed(months))
    saved = download("callback_months", results.table("callback_months").sort("month"))
    says = f"The table behind: {counted(len(months), 'month')}"
    return [Table("trend", says, MONTH_COLUMNS, rows, "", frozenset({1, 2, 3, 5}), saved)]


def _month_cells(entry: Month, firm: Firm) -> tuple[str, ...]:
    return (
        month(entry.month),
        count(entry.callbacks),
        count(entry.callbacks_all),
        number(entry.door_years, 1),
        entry.per_100.words() if entry.per_100 else "too few" if entry.door_years > 0 else "",
        "" if entry.cost is None else money(entry.cost, firm.currency),
        "" if entry.is_complete else "not complete",
    )

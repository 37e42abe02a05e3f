"""Days written without their year: 3 Mar, 14/2. The sheet's title or name says it, or the other days of the row do.

A door is surveyed, fitted, handed over and removed in this order, a callback visited after it was reported. The year is
taken only where no other is possible; else the cell stays as it was judged, with why no year fits.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

import polars as pl

from pipeline.ingest.judging.cells import problem_of, rule_of, text_of
from pipeline.ingest.records import CALLBACKS, CHECKS, DAY, INSTALLS, READINGS, TRAINING, Record
from pipeline.ingest.texts.dates import REMEDY, is_yearless
from pipeline.ingest.texts.manners import Manners

# In the order in which it happens. The first day to be settled is the one that a title speaks of.
_CHAINS = {
    INSTALLS.name: ("surveyed_on", "fitted_on", "handed_over_on", "removed_on"),
    CALLBACKS.name: ("reported_on", "visited_on"),
}
_FIRST = {INSTALLS.name: "fitted_on", CALLBACKS.name: "reported_on"}
# A list of crews or instruments of a year tells days of other years.
_OF_THE_YEAR = (INSTALLS, READINGS, CHECKS, CALLBACKS, TRAINING)
# Days that leap back so far in a list that goes up have passed the turn of a year.
_HALF_A_YEAR = timedelta(days=182)
_BY_TITLE, _BY_ROW = "year of the title or name", "the only year that the row's other days allow"

Row = dict[str, date]


@dataclass(frozen=True)
class _Column:
    """name; year: what the sheet says for it, None where it says none; why: what to say where it cannot be told."""

    name: str
    year: int | None
    why: str


def settle_years(frame: pl.DataFrame, record: Record, manners: Manners, last_day: date) -> pl.DataFrame:
    """The judged frame with the days filled in whose year is decided; the others say why it is not.

    last_day  the last day on which anything can have happened
    """
    names = [column.name for column in record.columns if column.kind == DAY]
    lacking = {name: found for name in names if (found := _yearless_rows(frame, name))}
    if not lacking:
        return frame
    columns = [_column(frame, record, name, manners) for name in _in_order(record, lacking)]
    settled: dict[str, dict[int, tuple[date | None, str]]] = {name: {} for name in lacking}
    for number in sorted({number for found in lacking.values() for number in found}):
        row = _known(frame, names, number)
        for column in columns:
            if number in lacking[column.name]:
                day, said = _settled(frame[text_of(column.name)][number], column, (record, row, last_day), manners)
                settled[column.name][number] = day, said
                if day is not None:
                    row[column.name] = day
    return frame.with_columns(one for name, found in settled.items() for one in _answers(frame, name, found))


def _yearless_rows(frame: pl.DataFrame, name: str) -> list[int]:
    """The rows, from 0, whose cell of a column lacks nothing but its year."""
    refused = frame.select(pl.arg_where(pl.col(problem_of(name)).is_not_null())).to_series().to_list()
    return [number for number in refused if is_yearless(str(frame[text_of(name)][number] or ""))]


def _in_order(record: Record, lacking: dict[str, list[int]]) -> list[str]:
    """The columns, that which a title speaks of foremost."""
    return sorted(lacking, key=lambda name: name != _FIRST.get(record.name, name))


def _known(frame: pl.DataFrame, names: list[str], number: int) -> Row:
    """The days of a row that are whole."""
    return {name: day for name in names if (day := frame[name][number]) is not None}


def _column(frame: pl.DataFrame, record: Record, name: str, manners: Manners) -> _Column:
    """What the sheet says of the years of a column."""
    if manners.year is None or record not in _OF_THE_YEAR:
        return _Column(name, None, "")
    whole = frame[name].drop_nulls().dt.year().unique().to_list()
    if any(year != manners.year for year in whole):
        return _Column(name, None, f", and not all days of the column are of {manners.year}, the year of its sheet")
    texts = frame[text_of(name)].drop_nulls().to_list()
    order = manners.order(name)
    days = [found for text in texts if is_yearless(text) for found in order.in_year(text, manners.year)[:1]]
    if _turns(days):
        return _Column(name, None, ", and the days of the column pass the turn of a year")
    return _Column(name, manners.year, f", and {manners.year}, the year of its sheet, does not fit the row")


def _turns(days: list[date]) -> bool:
    """Whether days taken as of one year leap half a year against the way in which they are listed."""
    steps = [later - earlier for earlier, later in pairwise(days) if later != earlier]
    n_up = sum(step > timedelta(0) for step in steps)
    n_down = len(steps) - n_up
    if n_up >= 2 * n_down:
        return any(step < -_HALF_A_YEAR for step in steps)
    return n_down >= 2 * n_up and any(step > _HALF_A_YEAR for step in steps)


def _settled(text: str, column: _Column, given: tuple[Record, Row, date], manners: Manners) -> tuple[date | None, str]:
    """(day, rule) of a cell, or (None, what is wrong)."""
    record, row, last_day = given
    after, before = _bounds(record, column.name, row, last_day)
    if column.year is not None:
        days = manners.order(column.name).in_year(text, column.year)
        if len(days) > 1:
            return None, f"its year is not said, and day and month can be mixed up; {REMEDY}"
        if days and (after is None or days[0] >= after) and days[0] <= before:
            return days[0], _BY_TITLE
    if after is not None:
        found = {
            day
            for year in range(after.year, before.year + 1)
            for day in manners.order(column.name).in_year(text, year)
            if after <= day <= before
        }
        is_near = column.year is None or all(day - after <= _HALF_A_YEAR for day in found)
        if len(found) == 1 and is_near:
            return found.pop(), _BY_ROW
    return None, f"its year is not said{column.why}; {REMEDY}"


def _bounds(record: Record, name: str, row: Row, last_day: date) -> tuple[date | None, date]:
    """The earliest and the latest day that a column can have, by the other days of its row."""
    chain = _CHAINS.get(record.name, ())
    if name not in chain:
        return None, last_day
    at = chain.index(name)
    after = [row[other] for other in chain[:at] if other in row]
    before = [row[other] for other in chain[at + 1 :] if other in row]
    return max(after, default=None), min([*before, last_day])


def _answers(frame: pl.DataFrame, name: str, found: dict[int, tuple[date | None, str]]) -> Iterator[pl.Series]:
    """The three columns of a day with what was found put in."""
    days, rules, problems = (frame[one].to_list() for one in (name, rule_of(name), problem_of(name)))
    for number, (day, said) in found.items():
        days[number] = day
        rules[number], problems[number] = (None, said) if day is None else (said, None)
    yield pl.Series(name, days, dtype=pl.Date)
    yield pl.Series(rule_of(name), rules, dtype=pl.String)
    yield pl.Series(problem_of(name), problems, dtype=pl.String)

"""The answers of one run in a few lines: rows, callback rate, strongest cause, and where the pages lie.

Reads results.duckdb only. Computes nothing: it picks rows and puts them into sentences.
"""

import math
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pipeline.terminal import from_here

if TYPE_CHECKING:
    import duckdb

LEAST_DOOR_YEARS = 1.0  # below it no rate can be told; the pages hold to the same bound

# the strongest is the one whose interval stays farthest from no effect, among causes graded strong
_STRONGEST = """
    SELECT effects.deviation, effects.fault, deviations.words, faults.words,
           contrast_ratio, contrast_low, contrast_high, doors, events
    FROM effects
    JOIN catalogue_deviations AS deviations ON deviations.name = effects.deviation
    JOIN catalogue_faults AS faults ON faults.name = effects.fault
    WHERE evidence = 'strong' AND effects.role = 'cause'
    ORDER BY contrast_low DESC, effects.deviation, effects.fault
    LIMIT 1
"""
MOST_LINES = 20
MOST_TIMES = 100  # as on the pages
# one example for each column of a record, refused files foremost, then whole rows, then what is most frequent
_SET_ASIDE = """
    SELECT file, sheet, "row", "column", "value", reason,
           count(*) OVER (PARTITION BY scope, record, "column") AS n_like_it
    FROM set_aside
    QUALIFY scope = 'file' OR row_number() OVER (PARTITION BY scope, record, "column" ORDER BY ordinal) = 1
    ORDER BY CASE scope WHEN 'file' THEN 0 WHEN 'row' THEN 1 ELSE 2 END, n_like_it DESC, ordinal
    LIMIT $most
"""


@dataclass(frozen=True)
class Account:
    """Rows of one record, or of all: read = taken_in + set_aside + repeated. Refused files stand apart."""

    rows_read: int
    rows_taken_in: int
    rows_set_aside: int
    rows_repeated: int
    files_refused: int

    @property
    def is_clean(self) -> bool:
        """True where nothing was set aside or refused."""
        return not (self.rows_set_aside or self.files_refused)


@dataclass(frozen=True)
class Rate:
    """Callbacks per 100 door-years of the firm, with 95 % interval; rate is None without time at risk.

    unlinked, logged  callbacks linked to no door, which no rate can count, and all callbacks on record
    has_log           a callback log came with the records; without one there is no rate
    log_refused       what came could not be read
    others            callbacks beside those, on the same doors, that crews do not answer for: the product's, wear, use
    """

    rate: float | None
    low: float | None
    high: float | None
    callbacks: int
    doors: int
    door_years: float
    unlinked: int
    logged: int
    has_log: bool
    log_refused: bool = False
    others: int = 0


@dataclass(frozen=True)
class Cause:
    """The strongest cause: times as many callbacks at the worse end of what the doors show as at the better."""

    deviation: str
    fault: str
    deviation_words: str
    fault_words: str
    ratio: float
    low: float
    high: float
    doors: int
    callbacks: int


@dataclass(frozen=True)
class Corrections:
    """Cells corrected in set_aside.xlsx that count now, the rows they stand in, and those that no longer count."""

    cells: int
    rows: int
    superseded: int


NO_CORRECTIONS = Corrections(0, 0, 0)


@dataclass(frozen=True)
class Ahead:
    """What the twelve months after `as_of` will bring, with 95 % intervals; cost is None where none is known."""

    callbacks: float
    low: float
    high: float
    cost: float | None
    cost_low: float | None
    cost_high: float | None
    currency: str | None


@dataclass(frozen=True)
class RunSummary:
    """What a run found, and where it left it. cause is None where no cause is sure; `no_cause` says why.

    as_of        the day to which the records run
    corrections  what people corrected in the workbook of what was set aside
    to_mend      where to do so, in sentences
    book         the workbook of results; None where none was written
    ahead        None where there is too little to look ahead by
    """

    out: Path
    account: Account
    rate: Rate
    cause: Cause | None
    no_cause: str
    notes: tuple[str, ...]
    as_of: date
    corrections: Corrections = NO_CORRECTIONS
    to_mend: tuple[str, ...] = ()
    book: Path | None = None
    ahead: Ahead | None = None

    @property
    def index_page(self) -> Path:
        """The page to open first."""
        return self.out / "pages" / "index.html"

    @property
    def is_clean(self) -> bool:
        """True where nothing was set aside or refused."""
        return self.account.is_clean

    @property
    def sentences(self) -> list[str]:
        """The summary as lines to print."""
        return [
            *self.notes,
            account_sentence(self.account),
            *self.to_mend,
            *corrections_sentences(self.corrections),
            _rate_sentence(self.rate, self.as_of),
            _cause_sentence(self.cause) if self.cause else f"Strongest cause: {self.no_cause}",
            *([_ahead_sentence(self.ahead)] if self.ahead else []),
            f"Pages:  {from_here(self.index_page)}",
            f"Tables: {from_here(self.out / 'tables')}",
            *([f"Book:   {from_here(self.book)}"] if self.book else []),
        ]

    def as_json(self) -> dict[str, Any]:
        """The same for a program; rates per 100 door-years, intervals 95 %."""
        return {
            "as_of": self.as_of.isoformat(),
            "rows": vars(self.account),
            "corrections": vars(self.corrections),
            "callback_rate": vars(self.rate),
            "strongest_cause": vars(self.cause) if self.cause else None,
            "no_cause": self.no_cause or None,
            "next_twelve_months": vars(self.ahead) if self.ahead else None,
            "notes": list(self.notes),
            "to_mend": list(self.to_mend),
            "pages": str(self.index_page),
            "tables": str(self.out / "tables"),
            "book": str(self.book) if self.book else None,
            "results": str(self.out / "results.duckdb"),
        }


def summarise(
    results: "duckdb.DuckDBPyConnection", out: Path, notes: tuple[str, ...] = (), to_mend: tuple[str, ...] = ()
) -> RunSummary:
    """The summary of published results, but for the workbook. `results` finds their tables by name."""
    cause = _strongest(results)
    return RunSummary(
        out=out,
        account=read_account(results),
        rate=_rate(results),
        cause=cause,
        no_cause="" if cause else _why_no_cause(results),
        notes=notes,
        as_of=results.execute("SELECT as_of FROM settings").fetchall()[0][0],
        corrections=read_corrections(results),
        to_mend=to_mend,
        ahead=_ahead(results),
    )


def read_corrections(results: "duckdb.DuckDBPyConnection") -> Corrections:
    """How many corrections count."""
    row = results.execute(
        "SELECT count(*) FILTER (WHERE state = 'in force'), "
        "count(DISTINCT (record, file, sheet, \"row\")) FILTER (WHERE state = 'in force'), "
        "count(*) FILTER (WHERE state = 'superseded') FROM corrections"
    ).fetchall()[0]
    return Corrections(*map(int, row))


def corrections_sentences(corrections: Corrections) -> list[str]:
    """One sentence where a correction counts; nothing else."""
    if not corrections.cells:
        return []
    of = f"{counted(corrections.cells, 'cell')} of {counted(corrections.rows, 'row')}"
    return [f"Corrected in set_aside.xlsx and in force: {of}; tables/corrections.csv tells who, when and what."]


def read_account(results: "duckdb.DuckDBPyConnection", record: str | None = None) -> Account:
    """The account of one record, or of all together."""
    row = results.execute(
        "SELECT coalesce(sum(rows_read), 0), coalesce(sum(rows_taken_in), 0), coalesce(sum(rows_set_aside), 0),"
        " coalesce(sum(rows_repeated), 0), count(*) FILTER (WHERE status = 'refused')"
        " FROM intake_account WHERE $record IS NULL OR record = $record",
        {"record": record},
    ).fetchall()[0]
    return Account(*map(int, row))


def account_sentence(account: Account, head: str = "Read") -> str:
    """The account as one sentence that begins with `head`."""
    refused = f"; {counted(account.files_refused, 'file')} refused" if account.files_refused else ""
    return (
        f"{head} {counted(account.rows_read, 'row')}: {account.rows_taken_in:,} taken in, "
        f"{account.rows_set_aside:,} set aside, {counted(account.rows_repeated, 'exact repeat')}{refused}."
    )


def _rate(results: "duckdb.DuckDBPyConnection") -> Rate:
    rows = results.execute(
        "SELECT rate, rate_low, rate_high, callbacks, doors, door_years, callbacks_all - callbacks"
        " FROM callback_rates WHERE crew = 'all'"
    ).fetchall()
    links = results.execute(
        "SELECT count(*) FILTER (WHERE install_id IS NULL), count(*) FROM linked_callbacks"
    ).fetchall()
    log = results.execute(
        "SELECT EXISTS (FROM intake_account WHERE record = 'callbacks' AND status <> 'refused')"
        " OR EXISTS (FROM linked_callbacks),"
        " EXISTS (FROM intake_account WHERE record = 'callbacks' AND status = 'refused')"
    ).fetchall()
    found = replace(Rate(*rows[0][:-1], *links[0], *log[0]), others=rows[0][-1])
    return found if found.has_log else replace(found, rate=None, low=None, high=None)


def _strongest(results: "duckdb.DuckDBPyConnection") -> Cause | None:
    rows = results.execute(_STRONGEST).fetchall()
    return Cause(*rows[0]) if rows else None


def _ahead(results: "duckdb.DuckDBPyConnection") -> Ahead | None:
    rows = results.execute(
        "SELECT callbacks, callbacks_low, callbacks_high, cost, cost_low, cost_high, currency"
        " FROM outlook CROSS JOIN settings WHERE month = 'total' AND basis = 'draws'"
    ).fetchall()
    return Ahead(*rows[0]) if rows else None


def _ahead_sentence(ahead: Ahead) -> str:
    said = f"Next twelve months: {_range(ahead.callbacks, ahead.low, ahead.high)} callbacks"
    if ahead.cost is None or ahead.cost_low is None or ahead.cost_high is None:
        return f"{said}."
    money = _range(ahead.cost, ahead.cost_low, ahead.cost_high, 6)
    return f"{said}, {f'{ahead.currency} ' if ahead.currency else 'costing '}{money}."


def _range(value: float, low: float, high: float, most_zeros: int = 2) -> str:
    """`670 (95 % 560 to 780)`, in whole numbers that the interval supports, as on the pages."""
    digits = max(min(-math.floor(math.log10(max(high - low, 1e-9) / 5)), 0), -most_zeros)
    shown = [f"{round(part, digits) + 0.0:,.0f}" for part in (value, low, high)]
    return f"{shown[0]} (95 % {shown[1]} to {shown[2]})"


def _why_no_cause(results: "duckdb.DuckDBPyConnection") -> str:
    grades = dict(
        results.execute("SELECT evidence, count(*) FROM effects WHERE role = 'cause' GROUP BY ALL").fetchall()
    )
    if grades.get("suggestive"):
        return f"none is sure yet; {counted(grades['suggestive'], 'effect')} suggestive, see the quality page."
    if grades.get("none"):
        return f"none found among {counted(grades['none'], 'effect')} that could be judged."
    if not results.execute("SELECT count(*) FROM deviations").fetchall()[0][0]:
        return "none can be told, since no readings or checks of these doors were taken in."
    return "too few callbacks or readings to tell yet."


def _rate_sentence(rate: Rate, as_of: date) -> str:
    years = f"{rate.door_years:,.{0 if rate.door_years >= 10 else 1}f} door-years"
    seen = f"{counted(rate.callbacks, 'callback')}, {counted(rate.doors, 'door')}, {years}"
    until = f"to {as_of:%Y-%m-%d}"
    if not rate.has_log and rate.log_refused:
        return f"Callback rate {until}: no callback log could be read; mend the file that was refused ({seen})."
    if not rate.has_log:
        return f"Callback rate {until}: no callback log came with the records; add callbacks.csv ({seen})."
    if rate.rate is None or rate.door_years < LEAST_DOOR_YEARS:
        return f"Callback rate {until}: too few door-years to tell ({seen})."
    lost = [f"{rate.others:,} more not the crews' to answer for"] if rate.others else []
    lost += [f"{rate.unlinked:,} of {counted(rate.logged, 'callback')} linked to no door"] if rate.unlinked else []
    left = f"; {' and '.join(lost)}, so not counted" if lost else ""
    return (
        f"Callback rate {until}: {rate.rate:.1f} per 100 door-years (95 % {rate.low:.1f} to {rate.high:.1f}; {seen}"
        f"{left})."
    )


def _cause_sentence(cause: Cause) -> str:
    return (
        f"Strongest cause: {cause.deviation_words}, for {cause.fault_words}: {_times(cause.ratio)} times as many "
        f"callbacks at its worse end as at its better (95 % {_times(cause.low)} to {_times(cause.high)}; "
        f"{counted(cause.doors, 'door')}, {counted(cause.callbacks, 'first callback')}); an association, not proof."
    )


def _times(ratio: float) -> str:
    """Where nearly every door with it comes back and none without, how far is not known."""
    return f"over {MOST_TIMES}" if ratio > MOST_TIMES else f"{ratio:.1f}"


def counted(number: int, thing: str) -> str:
    """A number and what it counts: `1 door`, `1,200 callbacks`."""
    return f"{number:,} {thing}" + ("" if number == 1 else "s")


def set_aside_examples(results: "duckdb.DuckDBPyConnection") -> list[str]:
    """What was set aside or left empty, by example: one sentence for each column of a record, refused files first."""
    lines = results.execute(_SET_ASIDE, {"most": MOST_LINES}).fetchall()
    return [_sentence(line[:4], *line[4:]) for line in lines]


def _sentence(place: tuple[Any, ...], value: str | None, reason: str, n_like_it: int) -> str:
    file, sheet, row, column = place
    parts = [file, sheet and f"sheet {sheet}", row and f"row {row}", column, value and f"'{value}'"]
    where = "in this column" if column else "such rows"
    more = f" ({n_like_it - 1:,} more {where})" if n_like_it > 1 else ""
    return f"{', '.join(part for part in parts if part)}: {reason}{more}"

"""`fitback tables [NAME]`: the data dictionary on a terminal, with the rows of the results where there are any."""

import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pipeline.dictionary import KINDS, RESULT, Entry, dictionary, tables_with
from pipeline.errors import UserError, as_sentence, did_you_mean
from pipeline.folders import chosen_output, outputs_here
from pipeline.publish import RESULTS
from pipeline.terminal import cut, line_width
from pipeline.warehouse import open_results, row_counts

MORE = "The tables that these are made of, records and catalogue included: fitback tables --all"
ONE = "One table with its columns, its key and what it is made of: fitback tables NAME"


@dataclass(frozen=True)
class TableList:
    """The tables by kind. rows: how many rows each has, where there are results; folder: where these lie."""

    entries: tuple[Entry, ...]
    rows: dict[str, int]
    folder: Path | None
    is_whole: bool

    @property
    def sentences(self) -> list[str]:
        """A line for each table, as long as a terminal shows."""
        lines = [line for kind in KINDS for line in self._of(kind)]
        return [*lines, *([] if self.is_whole else [MORE]), ONE]

    def as_json(self) -> dict[str, Any]:
        """The same for a program, columns included."""
        return {"tables": [_json_of(entry, self.rows) for entry in self.entries]}

    def _of(self, kind: str) -> list[str]:
        found = [entry for entry in self.entries if entry.kind == kind]
        if not found:
            return []
        wide, width = max(len(entry.name) for entry in self.entries), line_width(sys.stdout)
        count = max((len(f"{number:,}") for number in self.rows.values()), default=0)
        lines = [f"  {one.name:{wide}}  {self._count(one, count)}{one.purpose.split('. ')[0]}" for one in found]
        where = f" of {self.folder.name}:" if self.folder and self.rows else ":"
        return [KINDS[kind].replace(":", where, 1), *(cut(line, width) for line in lines), ""]

    def _count(self, entry: Entry, width: int) -> str:
        if not width:
            return ""
        rows = self.rows.get(entry.name)
        return f"{'' if rows is None else format(rows, ','):>{width}}  "


@dataclass(frozen=True)
class TablePage:
    """One table. rows: how many it has, where there are results."""

    entry: Entry
    rows: dict[str, int]
    folder: Path | None

    @property
    def sentences(self) -> list[str]:
        """Everything about it, as lines to print."""
        entry = self.entry
        return [
            f"{entry.name}: {entry.purpose}",
            f"Rows:      {entry.grain}{self._count()}",
            *([f"Key:       {', '.join(entry.key)}"] if entry.key else []),
            *([f"Left out:  {entry.left_out}"] if entry.left_out else []),
            f"Where:     {self._where()}",
            f"Made by:   {entry.made_by}",
            *([f"Made of:   {', '.join(entry.made_of)}"] if entry.made_of else []),
            *([f"Records:   {', '.join(entry.from_records)}"] if entry.made_of and entry.from_records else []),
            *([f"Read by:   {', '.join(entry.read_by)}"] if entry.read_by else []),
            *self._columns(),
        ]

    def as_json(self) -> dict[str, Any]:
        """The same for a program."""
        return _json_of(self.entry, self.rows)

    def _count(self) -> str:
        rows = self.rows.get(self.entry.name)
        return "" if rows is None or self.folder is None else f"; {rows:,} in {self.folder.name}"

    def _where(self) -> str:
        entry = self.entry
        if entry.kind == RESULT:
            return f"tables/{entry.name}.parquet and .csv; table {entry.name} of results.duckdb"
        if entry.is_view:
            return "nowhere: it lives only while results are made"
        return KINDS[entry.kind].split(": ", 1)[1].replace("tables of ", "")

    def _columns(self) -> list[str]:
        columns = self.entry.columns
        if not columns:
            return []
        wide, kind = max(len(one.name) for one in columns), max(len(one.type) for one in columns)
        lines = [f"  {one.name:{wide}}  {one.type:{kind}}  {one.meaning}".rstrip() for one in columns]
        return ["Columns:", *lines]


def list_tables(name: str | None, out: Path | None, is_whole: bool) -> TableList | TablePage:
    """The list of tables, or what is to be known of one.

    out  results whose rows are counted; None: the only `*-fitback` folder here, else none
    Raises UserError for a name that no table has, with the nearest ones or the tables that have such a column.
    """
    entries = dictionary()
    if name is not None and name not in entries:
        raise UserError(_unknown(name, entries))
    folder = _results_of(out)
    rows = _rows_in(folder) if folder else {}
    if name is not None:
        return TablePage(entries[name], rows, folder)
    shown = tuple(entry for entry in entries.values() if is_whole or entry.kind == RESULT)
    return TableList(shown, rows, folder, is_whole)


def _results_of(out: Path | None) -> Path | None:
    """The folder asked for, else the only one here: where there are none or several, the dictionary does without."""
    if out is not None:
        return chosen_output(out)
    here = outputs_here()
    return here[0] if len(here) == 1 else None


def _rows_in(folder: Path) -> dict[str, int]:
    with open_results(folder / RESULTS) as results:
        return row_counts(results)


def _unknown(name: str, entries: dict[str, Entry]) -> str:
    holders = tables_with(name, entries.values())
    if holders:
        which = f"{', '.join(holders[:4])}{f' and {len(holders) - 4} more' if len(holders) > 4 else ''}"
        return f"No table is called {name}; it is a column of {which}."
    return as_sentence(f"No table is called {name}{did_you_mean(name, list(entries)) or '; fitback tables lists them'}")


def _json_of(entry: Entry, rows: dict[str, int]) -> dict[str, Any]:
    return {**entry.as_json(), "rows": rows.get(entry.name)}

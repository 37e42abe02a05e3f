"""Reads the planned files into the history: each form by its reader, each file whole or not at all."""

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from pipeline.catalogue import Catalogue
from pipeline.ingest.csv_text import read_csv
from pipeline.ingest.headers import Unreadable, ignored_note
from pipeline.ingest.judge import Judge
from pipeline.ingest.landing import Count, Landing
from pipeline.ingest.parquet_text import read_parquet
from pipeline.ingest.plan import Planned
from pipeline.ingest.records import Record, record_named
from pipeline.ingest.sheets import Sheet
from pipeline.ingest.store import SUPERSEDED, one_row, rows_table
from pipeline.ingest.workbook import read_workbook

if TYPE_CHECKING:
    import duckdb

_READERS: dict[str, Callable[[Record, Path], list[Sheet]]] = {
    ".csv": read_csv,
    ".xlsx": read_workbook,
    ".parquet": read_parquet,
}


@dataclass
class Outcome:
    """What reading one file came to. refusal: why it was refused, None where it was read."""

    planned: Planned
    refusal: str | None = None
    notes: list[str] = field(default_factory=list)


def read_files(
    records: "duckdb.DuckDBPyConnection",
    people: "duckdb.DuckDBPyConnection",
    planned: tuple[Planned, ...],
    catalogue: Catalogue,
    run: int,
) -> list[Outcome]:
    """Reads every planned file; a refused one leaves its earlier rows as they are."""
    return [_read_file(records, people, one, catalogue, run) for one in planned]


def _read_file(
    records: "duckdb.DuckDBPyConnection",
    people: "duckdb.DuckDBPyConnection",
    planned: Planned,
    catalogue: Catalogue,
    run: int,
) -> Outcome:
    record = record_named(planned.file.record)
    landing = Landing(records, people, Judge(record, catalogue))
    outcome = Outcome(planned)
    first_load = _next_load(records)
    try:
        sheets = _READERS[planned.file.path.suffix.lower()](record, planned.file.path)
        counts = [(sheet, landing.land(first_load + number, sheet)) for number, sheet in enumerate(sheets)]
    except (Unreadable, OSError) as error:
        outcome.refusal = str(error) if isinstance(error, Unreadable) else f"it cannot be read: {error.strerror}"
        _take_back(records, record, first_load)
        return outcome
    _replace(records, record, planned, run)
    for number, (sheet, count) in enumerate(counts):
        _write_load(records, first_load + number, planned, sheet, count, run)
        outcome.notes += [note for note in (*sheet.notes, ignored_note(record, sheet.header)) if note]
    return outcome


def _next_load(records: "duckdb.DuckDBPyConnection") -> int:
    return int(one_row(records, "SELECT coalesce(max(load), 0) + 1 FROM loads")[0])


def _write_load(
    records: "duckdb.DuckDBPyConnection", load: int, planned: Planned, sheet: Sheet, count: Count, run: int
) -> None:
    file = planned.file
    version = run if planned.version is None else planned.version
    records.execute(
        "INSERT INTO loads VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, NULL)",
        [load, file.record, file.name, sheet.name, version, planned.content_hash, planned.judged_by,
         count.n_read, count.n_refused],
    )  # fmt: skip


def _replace(records: "duckdb.DuckDBPyConnection", record: Record, planned: Planned, run: int) -> None:
    """Takes the file's earlier rows out of force: superseded by new content, removed where judged again."""
    which = "SELECT load FROM loads WHERE record = ? AND file = ? AND replaced_in IS NULL"
    of_file = [planned.file.record, planned.file.name]
    if planned.version is None:
        records.execute(f"UPDATE {rows_table(record)} SET state = {SUPERSEDED} WHERE load IN ({which})", of_file)
        records.execute(f"UPDATE loads SET replaced_in = {run} WHERE load IN ({which})", of_file)
        return
    loads = [load for (load,) in records.execute(which, of_file).fetchall()]
    for load in loads:
        _take_back(records, record, load, last=load)
        records.execute("DELETE FROM loads WHERE load = ?", [load])


def _take_back(records: "duckdb.DuckDBPyConnection", record: Record, first: int, last: int = 1 << 30) -> None:
    for table in (rows_table(record), "raw_cells", "door_leans", "problems"):
        records.execute(f"DELETE FROM {table} WHERE load BETWEEN {first} AND {last}")

"""Reads the planned files into the history: each form by its reader, each file whole or not at all."""

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import polars as pl

from pipeline.catalogue import Catalogue
from pipeline.ingest.bulk.csv_files import BulkCsv, bulk_csv
from pipeline.ingest.bulk.json_files import BulkJson, bulk_json
from pipeline.ingest.bulk.parquet_files import BulkParquet, bulk_parquet
from pipeline.ingest.bulk.typed import BULKY
from pipeline.ingest.files.blank_lines import empty_note
from pipeline.ingest.files.csv_text import read_csv
from pipeline.ingest.files.file_scan import FileScan
from pipeline.ingest.files.folder import RecordFile
from pipeline.ingest.files.headers import CANNOT_OPEN, Header, Unreadable, why_refused
from pipeline.ingest.files.json_text import read_json
from pipeline.ingest.files.parquet_text import read_parquet
from pipeline.ingest.files.sheets import PART_ROWS, Sheet
from pipeline.ingest.files.unread import Unread, keep_unread, unknown_columns
from pipeline.ingest.files.workbook import read_workbook
from pipeline.ingest.history.segments import JSON_LINES, remove_load
from pipeline.ingest.history.store import one_row, with_frame
from pipeline.ingest.judging.judge import Judge
from pipeline.ingest.landing.erased import Erasures
from pipeline.ingest.landing.land import Count, Landing
from pipeline.ingest.matching.mapped.bulk_wide import BulkWide, bulk_wide
from pipeline.ingest.matching.mapped.own_sheets import OwnSheets
from pipeline.ingest.mending.ledger import FILE, anchor, in_force, mended_by, move, supersede
from pipeline.ingest.mending.overlay import Overlay
from pipeline.ingest.plan import Planned
from pipeline.ingest.records import Record, record_named
from pipeline.ingest.texts.years_said import year_said

if TYPE_CHECKING:
    import duckdb

_READERS: dict[str, Callable[[Record, Path], list[Sheet]]] = {
    ".csv": read_csv,
    ".xlsx": read_workbook,
    ".parquet": read_parquet,
    JSON_LINES: read_json,
}
Bulk = BulkCsv | BulkJson | BulkParquet | BulkWide
# Smaller files are read as text at once: it takes no time, and there is less to go wrong.
SMALLEST_BULK_BYTES = {".csv": 4 << 20, ".parquet": 1 << 20, JSON_LINES: 12 << 20}


@dataclass
class Outcome:
    """What reading one file came to. refusal: why it was refused, None where it was read."""

    planned: Planned
    refusal: str | None = None
    notes: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class _Load:
    """One sheet of a file, landed. is_large: in a table of its own."""

    number: int
    is_large: bool
    sheet: str | None
    header: Header
    count: Count
    unread: tuple[Unread, ...] = ()


class Reader:
    """Reads files under load numbers of their own.

    records   the connection whose transaction takes the rows in; people: another, whose writes stand before it ends
    last_day  the last day on which anything can have happened
    """

    def __init__(
        self,
        records: "duckdb.DuckDBPyConnection",
        people: "duckdb.DuckDBPyConnection",
        catalogue: Catalogue,
        last_day: date,
    ) -> None:
        self._records = records
        self._people = people
        self._catalogue = catalogue
        self._last_day = last_day
        self._own_sheets = OwnSheets(catalogue)
        self._erasures = Erasures(people)
        self._bulk: dict[Planned, tuple[int, Bulk]] = {}
        self._next = 1 + one_row(records, "SELECT coalesce(max(load), 0) FROM loads")[0]

    def land_large(self, planned: tuple[Planned, ...]) -> None:
        """Lands large files by the typed path, ahead of the transaction: no view shows their tables yet.

        What cannot be read so is left for `read`.
        """
        for one in planned:
            bulk = _bulk(one)
            if bulk is None:
                continue
            load = self._number()
            judge = Judge(bulk.record, self._catalogue, self._last_day)
            if bulk.land(self._records, judge, load, self._overlay(one).keys):
                self._bulk[one] = load, bulk
            else:
                remove_load(self._records, bulk.record, load)

    def read(self, planned: tuple[Planned, ...], run: int) -> list[Outcome]:
        """Reads every planned file; a refused one leaves its earlier rows as they are."""
        return [self._read_file(one, run) for one in planned]

    def take_out_of_force(self, left_out: tuple[tuple[str, str], ...], run: int) -> None:
        """Supersedes the rows of records that a file no longer makes: (record, file)."""
        for record, file in left_out:
            for load in _loads_in_force(self._records, record, file):
                _supersede(self._records, load, run)

    def _read_file(self, planned: Planned, run: int) -> Outcome:
        record = record_named(planned.file.record)
        outcome = Outcome(planned)
        first = self._next
        if planned.scan is None:
            outcome.refusal = CANNOT_OPEN
            return outcome
        try:
            overlay = self._overlay(planned)
            loads = list(self._land(record, planned, outcome, overlay))
        except (Unreadable, OSError) as error:
            outcome.refusal = why_refused(error)
            for load in range(first, self._next):
                remove_load(self._records, record, load)
            return outcome
        _replace(self._records, record, planned, run)
        outcome.notes += self._settle_mends(overlay)
        for one in loads:
            _write_load(self._records, planned, one, run)
            keep_unread(self._records, one.number, one.unread or unknown_columns(record, one.header))
            outcome.notes += [empty_note(one.count.n_empty)] if one.count.n_empty else []
        return outcome

    def _overlay(self, planned: Planned) -> Overlay:
        file = planned.file
        content = planned.scan.content_hash if planned.scan else ""
        corrections = in_force(self._records, file.record, file.name)
        return Overlay(record_named(file.record), corrections, content, self._erasures.texts)

    def _settle_mends(self, overlay: Overlay) -> list[str]:
        """Notes what was corrected where; corrections that the file has overtaken go out of force, and are told."""
        anchor(self._records, overlay.sources)
        move(self._records, overlay.moved)
        supersede(self._records, overlay.overtaken, FILE, datetime.now())
        n_overtaken = len(overlay.overtaken)
        if not n_overtaken:
            return []
        what = "1 correction no longer counts" if n_overtaken == 1 else f"{n_overtaken:,} corrections no longer count"
        return [f"{what}, as the file came with what they mend changed"]

    def _land(self, record: Record, planned: Planned, outcome: Outcome, overlay: Overlay) -> Iterator[_Load]:
        judge = Judge(record, self._catalogue, self._last_day)
        landing = Landing(self._records, self._people, judge, overlay, self._erasures)
        if planned in self._bulk:
            load, bulk = self._bulk[planned]
            if isinstance(bulk, BulkWide):
                outcome.notes += bulk.notes
                _write_headings(self._records, load, bulk.headings)
            unread = bulk.unread if isinstance(bulk, BulkWide) else ()
            yield _Load(load, True, None, bulk.header, _finish_bulk(landing, bulk, load), unread)
            return
        for sheet in self._sheets(record, planned.file):
            load = self._number()
            outcome.notes += sheet.notes
            _write_headings(self._records, load, sheet.headings)
            yield _Load(load, False, sheet.name, sheet.header, landing.land(load, sheet), sheet.unread)

    def _sheets(self, record: Record, file: RecordFile) -> list[Sheet]:
        if file.sheet_maps:
            return self._own_sheets.read(record, file.path, file.sheet_maps, file.others)
        sheets = _READERS[file.path.suffix.lower()](record, file.path)
        return [replace(sheet, year=year_said([file.path.stem, sheet.name])) for sheet in sheets]

    def _number(self) -> int:
        self._next += 1
        return self._next - 1


def _bulk(planned: Planned) -> Bulk | None:
    path, record = planned.file.path, record_named(planned.file.record)
    if planned.scan is None or record not in BULKY:
        return None
    if path.stat().st_size < SMALLEST_BULK_BYTES.get(path.suffix.lower(), math.inf):
        return None
    try:
        if planned.file.sheet_maps:
            return bulk_wide(record, path, planned.scan, planned.file.sheet_maps) if _is_csv(path) else None
        bulk = _plain_bulk(record, path, planned.scan)
        return None if bulk is not None and bulk.header.is_record_sheet else bulk  # its empty lines are found as text
    except (Unreadable, OSError):
        return None


def _plain_bulk(record: Record, path: Path, scan: FileScan) -> BulkCsv | BulkJson | BulkParquet | None:
    if _is_csv(path):
        return bulk_csv(record, path, scan)
    return bulk_json(record, path, scan) if path.suffix.lower() == JSON_LINES else bulk_parquet(record, path)


def _is_csv(path: Path) -> bool:
    return path.suffix.lower() == ".csv"


def _finish_bulk(landing: Landing, bulk: Bulk, load: int) -> Count:
    """Lets the judge decide on the rows of a landed file that are not certain; its own reading of them hides them."""
    rows = pl.DataFrame({"row": bulk.unsure}, schema={"row": pl.Int64})
    with_frame(landing.records, rows, f'INSERT INTO hidden SELECT {load}, "row" FROM incoming')
    n_sure = bulk.n_landed - len(bulk.unsure)
    count = Count(n_read=n_sure, n_kept=n_sure)
    for part in bulk.parts(PART_ROWS):
        part = landing.overlay.over(None, part)
        landing.land_part(load, part, bulk.header.width, count, bulk.manners)
    return count


def _write_headings(
    records: "duckdb.DuckDBPyConnection", load: int, headings: tuple[tuple[int, str, str], ...]
) -> None:
    if headings:
        rows = [(load, *heading) for heading in headings]
        records.executemany("INSERT INTO headings VALUES (?, ?, ?, ?)", rows)


def _write_load(records: "duckdb.DuckDBPyConnection", planned: Planned, load: _Load, run: int) -> None:
    file = planned.file
    version = run if planned.version is None else planned.version
    assert planned.scan is not None
    judged_by = planned.judged_by + mended_by(records, file.record, file.name)
    records.execute(
        "INSERT INTO loads VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, NULL)",
        [
            *(load.number, file.record, file.name, load.sheet, version, planned.scan.content_hash),
            *(judged_by, load.is_large, load.count.n_read, load.count.n_refused, load.count.n_kept),
        ],
    )


def _replace(records: "duckdb.DuckDBPyConnection", record: Record, planned: Planned, run: int) -> None:
    """Takes the file's earlier rows out of force: superseded by new content, removed where judged again."""
    for load in _loads_in_force(records, record.name, planned.file.name):
        if planned.version is None:
            _supersede(records, load, run)
        else:
            remove_load(records, record, load)
            records.execute(f"DELETE FROM loads WHERE load = {load}")


def _loads_in_force(records: "duckdb.DuckDBPyConnection", record: str, file: str) -> list[int]:
    which = "FROM loads WHERE record = ? AND file = ? AND replaced_in IS NULL"
    return [load for (load,) in records.execute(f"SELECT load {which}", [record, file]).fetchall()]


def _supersede(records: "duckdb.DuckDBPyConnection", load: int, run: int) -> None:
    records.execute(f"UPDATE loads SET replaced_in = {run} WHERE load = {load}")
    for table in ("marks", "refused_texts"):
        records.execute(f"DELETE FROM {table} WHERE load = {load}")

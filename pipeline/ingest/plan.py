"""Decides what to do with every file: read it, leave it as it is, or keep the rows of one that has gone."""

import hashlib
import json
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from pipeline.catalogue import Catalogue
from pipeline.ingest.declared.look_ups import looked_into
from pipeline.ingest.files.file_scan import FileScan, scan_file
from pipeline.ingest.files.folder import Listing, RecordFile
from pipeline.ingest.mending.ledger import mended_by
from pipeline.ingest.records import INSTRUMENTS, READINGS, Record, record_named
from pipeline.ingest.texts.words import word_lists

if TYPE_CHECKING:
    import duckdb

# Raised whenever a row could be judged otherwise than before, so that every file is judged again.
READING_RULES = 18


@dataclass(frozen=True)
class Planned:
    """A file to be read. was_known: rows of it are in force. scan: None where the file cannot be opened.

    judged_by  the words by which its rows are judged
    version    None for a new delivery, else that of the delivery whose rows are judged again
    """

    file: RecordFile
    scan: FileScan | None
    judged_by: str
    version: int | None = None
    was_known: bool = False


@dataclass(frozen=True)
class Plan:
    """to_read; unchanged, vanished and left_out: (record, file); left_out: no record of a file that is there now."""

    to_read: tuple[Planned, ...]
    unchanged: tuple[tuple[str, str], ...]
    vanished: tuple[tuple[str, str], ...]
    left_out: tuple[tuple[str, str], ...] = ()


def make_plan(connection: "duckdb.DuckDBPyConnection", listing: Listing, catalogue: Catalogue) -> Plan:
    """Compares the folder with the loads in force: by record and name, then content, then what it was judged by.

    That is the words of the catalogue, and what people corrected in the file's rows.
    """
    known = {
        (record, file): (content, judged_by, version)
        for record, file, content, judged_by, version in connection.execute(
            'SELECT record, file, content_hash, judged_by, "version" FROM loads WHERE replaced_in IS NULL'
        ).fetchall()
    }
    to_read, unchanged = [], []
    # each file once, however many records it makes and however many files look into it
    scanned = cache(_scan)
    for file in listing.files:
        key = (file.record, file.name)
        scan, judged_by = scanned(file.path), _judging(file, catalogue, scanned)
        content = scan.content_hash if scan else None
        before = known.pop(key, None)
        if before and before[:2] == (content, judged_by + mended_by(connection, *key)):
            unchanged.append(key)
        else:
            version = before[2] if before and before[0] == content else None
            to_read.append(Planned(file, scan, judged_by, version, before is not None))
    there = {file.name for file in listing.files}
    left_out = tuple(key for key in known if key[1] in there)
    return Plan(tuple(to_read), tuple(unchanged), tuple(key for key in known if key[1] not in there), left_out)


def _judging(file: RecordFile, catalogue: Catalogue, scanned: Callable[[Path], FileScan | None]) -> str:
    """A short hash of all that decides what the file's rows become: words, units, its mapping, what it looks up."""
    words = judging_words(record_named(file.record), catalogue)
    if not file.sheet_maps:
        return words
    scans = [scanned(path) for path in looked_into(file.sheet_maps, file.path.parent)]
    beside = [scan.content_hash if scan else None for scan in scans]
    decides = (words, file.sheet_maps, *([beside] if beside else []))
    return hashlib.sha256(repr(decides).encode()).hexdigest()[:16]


def _scan(path: Path) -> FileScan | None:
    try:
        return scan_file(path)
    except OSError:
        return None


def judging_words(record: Record, catalogue: Catalogue) -> str:
    """A short hash of everything in the catalogue that decides how a row of the record is judged."""
    lists = word_lists(catalogue)
    words: dict[str, object] = {
        column.list_name: lists[column.list_name] for column in record.columns if column.list_name
    }
    words["customs"] = repr(catalogue.customs)
    if record in (READINGS, INSTRUMENTS):
        words["units"] = [repr(unit) for unit in catalogue.units]
    if record is READINGS:
        words["measures"] = [
            (row.name, row.unit, row.low, row.high, row.member, row.extra) for row in catalogue.measures
        ]
    text = json.dumps([READING_RULES, words], ensure_ascii=False, sort_keys=True)
    return hashlib.sha256(text.encode()).hexdigest()[:16]

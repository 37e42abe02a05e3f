"""Lists a folder: which file belongs to which record, and what is not read and why. Opens nothing."""

import os
import re
from dataclasses import dataclass
from pathlib import Path

from pipeline.errors import UserError, nearest
from pipeline.ingest.declared.look_ups import looks_into
from pipeline.ingest.declared.mapping import LOCK_MARK, MAPPED_FORMS, SheetMap
from pipeline.ingest.records import RECORDS
from pipeline.settings import SETTINGS_FILE

_OWN_SHEETS = "fitback match reads a firm's own sheets"
FORMS = (".csv", ".xlsx", ".parquet", ".jsonl")
_OTHER_TABLES = (".xls", ".xlsm", ".xlsb", ".ods", ".tsv", ".txt", ".json", ".ndjson", ".gz", ".zip", ".numbers")
# hidden on some system, or there for people
_HIDDEN = re.compile(r"\.|readme(?![^\W_])|(thumbs\.db|desktop\.ini)$", re.IGNORECASE)
_NAME = re.compile(r"(?P<record>[^\W\d_]+)(?:[\W_].*)?", re.DOTALL)


@dataclass(frozen=True)
class RecordFile:
    """A file to be read. sheet_maps: how the firm's own sheets in it make the record; none where it is canonical.

    Those of sheets with several tables are all there, whichever record they make.
    others  those that make other records of the file
    """

    record: str
    path: Path
    sheet_maps: tuple[SheetMap, ...] = ()
    others: tuple[SheetMap, ...] = ()

    @property
    def name(self) -> str:
        """The name by which the file is known."""
        return self.path.name


@dataclass(frozen=True)
class Listing:
    """files: to be read, by name. others: (file name, why it is not read)."""

    files: tuple[RecordFile, ...]
    others: tuple[tuple[str, str], ...]


def list_folder(folder: Path, out: Path, mapping: tuple[SheetMap, ...] = ()) -> Listing:
    """What stands in the folder itself: no subfolder is entered, and hidden and README files are passed over.

    mapping  the firm's [[sheet]] tables; a file that one of them names is one for every record it makes

    Raises UserError where the folder cannot be listed or holds no file of a record.
    """
    try:
        entries = sorted(folder.iterdir(), key=lambda entry: (entry.stem.lower(), entry.name))
    except OSError as error:
        raise UserError(f"{folder} cannot be listed: {error.strerror}.") from None
    files, others = [], []
    for entry in entries:
        if _HIDDEN.match(entry.name) or entry.name.startswith(SETTINGS_FILE) or _is_output(entry, out):
            continue
        odd = _no_file(entry)
        mapped = [] if odd else _mapped(entry, mapping)
        record, reason = (None, odd) if odd or mapped else _sort_out(entry)
        if mapped:
            files += mapped
        elif not odd and not record and entry.is_file() and looks_into(mapping, entry.name):
            continue
        elif record:
            files.append(RecordFile(record, entry))
        else:
            others.append((os.fsencode(entry.name).decode("utf-8", "replace"), reason))
    if not files:
        raise UserError(_nothing(folder, others))
    return Listing(tuple(files), tuple(others))


def record_of(name: str) -> str | None:
    """The record a file name (without its ending) belongs to: the record's name, then nothing or a separator."""
    found = _NAME.fullmatch(name)
    word = found["record"].lower() if found else ""
    return word if word in _record_names() else None


def _mapped(entry: Path, mapping: tuple[SheetMap, ...]) -> list[RecordFile]:
    """One for every record that the firm's [[sheet]] tables make of the file; none where no table names it."""
    is_sheet = entry.suffix.lower() in MAPPED_FORMS and not entry.name.startswith(LOCK_MARK) and not entry.is_dir()
    maps = [one for one in mapping if is_sheet and one.is_of(entry.name)]
    records = [record.name for record in RECORDS if any(one.map_of(record.name) for one in maps)]
    # where several tables share a sheet, each says where another ends; so do forms and what stands at their feet
    are_footed = any(one.at_foot for one in maps)
    shared = [one for one in maps if one.is_part or one.at_foot or (one.form and are_footed)]
    own = {record: tuple(one for one in maps if one in shared or one.map_of(record) is not None) for record in records}
    return [
        RecordFile(record, entry, own[record], tuple(one for one in maps if one not in own[record]))
        for record in records
    ]


def _no_file(entry: Path) -> str:
    """Why the entry is nothing that can be read; empty for a file, a folder, and a link that leads nowhere."""
    if entry.name != os.fsencode(entry.name).decode("utf-8", "replace"):
        return "its name is not written in UTF-8; rename it"
    if entry.exists() and not (entry.is_file() or entry.is_dir()):
        return "a pipe or a device, not a file"  # reading it might never end
    return ""


def _sort_out(entry: Path) -> tuple[str | None, str]:
    """(record, "") of a file to be read, else (None, why it is not)."""
    if entry.is_dir():
        return None, "a folder; only files of the folder itself are read"
    if entry.name.startswith(LOCK_MARK):
        return None, "the mark of a workbook that is open elsewhere"
    record, ending = record_of(entry.stem), entry.suffix.lower()
    if record and ending in FORMS:
        return record, ""
    if record and ending in _OTHER_TABLES:
        return None, f"{record} can be read as .csv, .xlsx, .parquet or .jsonl; save it as one of them"
    if ending in FORMS:
        near = nearest(entry.stem, _record_names(), count=1)
        own = f"; {_OWN_SHEETS}" if ending in MAPPED_FORMS else ""
        known = "" if near else f" ({', '.join(_record_names())})"
        asked = f"{', or' if own else ';'} did you mean {near[0]}{ending}?" if near else ""
        return None, f"its name does not begin with the name of a record{known}{own}{asked}"
    return None, "not a file of records"


def _is_output(entry: Path, out: Path) -> bool:
    return entry.is_dir() and (entry.resolve() == out.resolve() or (entry / "records.duckdb").exists())


def _record_names() -> list[str]:
    return [record.name for record in RECORDS]


def _nothing(folder: Path, others: list[tuple[str, str]]) -> str:
    if not others:
        return f"{folder} holds no file of records; put installs.csv into it, with one row per door fitted."
    shown = "; ".join(f"{name}: {reason}" for name, reason in others[:3])
    may_be_own = any(_OWN_SHEETS in reason for _, reason in others)
    match = "run fitback match on your own sheets, or " if may_be_own else ""
    return (
        f"{folder} holds no file of records: {match}put installs.csv into it, with one row per door fitted ({shown})."
    )

"""Finds out how a text file is encoded, and refuses what is not text."""

import io
from dataclasses import dataclass
from pathlib import Path

from pipeline.ingest.files.file_scan import FileScan
from pipeline.ingest.files.headers import Unreadable

_MARKS = {b"\xef\xbb\xbf": "utf-8-sig", b"\xff\xfe": "utf-16", b"\xfe\xff": "utf-16"}
OTHER_FORMS = {b"PK\x03\x04": "a workbook; give it the ending .xlsx", b"PAR1": "Parquet; give it the ending .parquet"}
_GUESSED = "read as Western European text (Windows-1252), because it is not UTF-8"
_BLOCK = 1 << 24


@dataclass(frozen=True)
class Encoding:
    """name and errors as open() takes them. note: what is worth saying about it."""

    name: str
    errors: str = "strict"
    note: str | None = None


def find_encoding(path: Path, scan: FileScan | None = None) -> Encoding:
    """UTF-8 or UTF-16 by their marks, UTF-8 where the bytes are, else Windows-1252 with a note.

    scan  what is known of the file's bytes, so that they need not all be read again
    Raises Unreadable for an empty file and for one that is not text.
    """
    with path.open("rb") as file:
        head = file.read(4096)
        if not head.strip():
            raise Unreadable("the file is empty; put the column names in its first row")
        for mark, form in OTHER_FORMS.items():
            if head.startswith(mark):
                raise Unreadable(f"this is not CSV but {form}")
        for mark, name in _MARKS.items():
            if head.startswith(mark):
                return Encoding(name)
        if not (is_text(file, head) if scan is None else _is_text_so_far(head) and not scan.has_nul):
            raise Unreadable("this is not text; save it as CSV, UTF-8")
        file.seek(0)
        is_utf8 = _is_utf8(file) if scan is None else scan.is_utf8
        return Encoding("utf-8") if is_utf8 else Encoding("cp1252", "replace", _GUESSED)


def _is_text_so_far(head: bytes) -> bool:
    """Whether the head of a file holds no bytes that no text has."""
    return not any(byte < 32 and byte not in b"\t\n\r\x0c\x1a" for byte in head)


def is_text(file: io.BufferedReader, head: bytes) -> bool:
    """Whether neither the head of a file nor what follows it in `file` holds bytes that no text has."""
    return _is_text_so_far(head) and not any(b"\0" in block for block in iter(lambda: file.read(_BLOCK), b""))


def _is_utf8(file: io.BufferedReader) -> bool:
    text = io.TextIOWrapper(file, encoding="utf-8", newline="")
    try:
        while text.read(_BLOCK):
            pass
    except UnicodeDecodeError:
        return False
    finally:
        text.detach()
    return True

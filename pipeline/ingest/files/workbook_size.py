"""Whether a workbook can be opened within memory: how large it is unpacked, and how far apart its cells stand.

Looks at the archive only. The library that reads workbooks takes memory for the whole rectangle that holds a sheet's
cells, so that one stray cell in the last corner would be 17 thousand million cells.
"""

import re
import struct
import zipfile
import zlib
from collections.abc import Iterator

from pipeline.ingest.files.headers import Unreadable

# What reading a damaged archive may raise.
BROKEN_ARCHIVE = (
    zipfile.BadZipFile, zlib.error, struct.error, KeyError, NotImplementedError, RuntimeError, EOFError, ValueError,
)  # fmt: skip
LARGEST_UNPACKED = 2 << 30
LARGEST_RATIO = 500
MOST_CELLS = 16_000_000  # 32 bytes each

# Every place of a row or cell, and more: quick to find.
_PLACE = re.compile(rb"""r\s*=\s*["']([A-Z]{0,3})(\d{1,7})["']""")
_BLOCK = 1 << 22
_LONGEST_TAG = 1 << 12
# A cell that holds something: one that only has a style closes itself.
_CELL = re.compile(rb"""<(?:\w+:)?c\s(?:[^<>]*?\s)?r\s*=\s*["']([A-Z]{1,3})(\d{1,7})["'][^<>/]*>""")
# A row that holds cells, which may not say where they stand.
_ROW = re.compile(rb"""<(?:\w+:)?row\s(?:[^<>]*?\s)?r\s*=\s*["']()(\d{1,7})["'][^<>/]*>""")


def check_size(archive: zipfile.ZipFile) -> None:
    """Raises Unreadable, saying what to do, where opening the workbook would take more memory than it may."""
    entries = archive.infolist()
    unpacked = sum(entry.file_size for entry in entries)
    if unpacked > LARGEST_UNPACKED or any(_is_bomb(entry) for entry in entries):
        raise Unreadable("the workbook is too large unpacked; save its rows as CSV")
    for entry in entries:
        if entry.filename.startswith("xl/worksheets/") and entry.filename.endswith(".xml"):
            _check_spread(archive, entry)


def _is_bomb(entry: zipfile.ZipInfo) -> bool:
    return entry.file_size > 1 << 26 and entry.file_size > LARGEST_RATIO * max(entry.compress_size, 1)


def _check_spread(archive: zipfile.ZipFile, entry: zipfile.ZipInfo) -> None:
    if _too_far(_farthest(archive, entry, (_PLACE,))) and _too_far(far := _farthest(archive, entry, (_CELL, _ROW))):
        column, row = far
        raise Unreadable(
            f"its cells reach as far as {column.decode()}{row}; delete the stray ones to the right and below, "
            "or save the rows as CSV"
        )


def _too_far(corner: tuple[bytes, int]) -> bool:
    return _place(corner[0]) * corner[1] > MOST_CELLS


def _farthest(
    archive: zipfile.ZipFile, entry: zipfile.ZipInfo, patterns: tuple[re.Pattern[bytes], ...]
) -> tuple[bytes, int]:
    """(letters of the last column, number of the last row) of all places that the patterns find."""
    columns, last_row = {b"A"}, 0
    for block in blocks_of(archive, entry):
        found = [place for pattern in patterns for place in pattern.findall(block)]
        columns.update(letters for letters, _ in found)
        last_row = max(last_row, max((int(row) for _, row in found), default=0))
    return max(columns, key=_place), last_row


def blocks_of(archive: zipfile.ZipFile, entry: zipfile.ZipInfo) -> Iterator[bytes]:
    """The part unpacked, block by block; a tag that is cut by the end of one stands whole at the begin of the next."""
    kept = b""
    with archive.open(entry) as file:
        while block := file.read(_BLOCK):
            block = kept + block
            cut = block.rfind(b"<", max(0, len(block) - _LONGEST_TAG))
            kept = block[cut:] if cut > 0 else b""
            yield block[:cut] if cut > 0 else block
    yield kept


def _place(letters: bytes) -> int:
    """A column's number from its letters: A is 1, XFD 16,384."""
    place = 0
    for letter in letters:
        place = place * 26 + letter - 64
    return place

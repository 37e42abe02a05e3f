"""Tells the cells of a workbook in which a formula shows no value: they are read as empty, so it has to be said.

A formula shows an error where what it reads is gone (#REF!), and nothing at all where a program wrote it that does not
work formulas out. `#N/A` and `#DIV/0!` are what formulas show beside a row that is not filled in yet: nothing is lost.
"""

import re
import zipfile
import zlib
from pathlib import Path

from pipeline.errors import few_of
from pipeline.ingest.files.workbook_size import blocks_of

_SHEET = re.compile(r"xl/worksheets/[^/]+\.xml", re.IGNORECASE)
_EMPTY = rb"""(?:<(?:\w+:)?v\s*/>|<(?:\w+:)?v>\s*</(?:\w+:)?v>)?"""
# ECMA-376 Part 1, 18.3.1.4: the cell, its formula, its value
_NO_VALUE = re.compile(
    rb"""<(?:\w+:)?c\s(?:[^<>]*?\s)?r\s*=\s*["']([A-Z]{1,3}\d{1,7})["'][^<>]*>\s*"""
    rb"""(?:<(?:\w+:)?f(?:\s[^<>]*)?/>|<(?:\w+:)?f(?:\s[^<>]*)?>[^<]*</(?:\w+:)?f>)\s*"""
    + _EMPTY
    + rb"""\s*</(?:\w+:)?c>"""
)
_ERROR = re.compile(
    rb"""<(?:\w+:)?c\s(?:[^<>]*?\s)?r\s*=\s*["']([A-Z]{1,3}\d{1,7})["'][^<>]*>"""
    rb"""(?:\s*<(?:\w+:)?f(?:\s[^<>]*)?/>|\s*<(?:\w+:)?f(?:\s[^<>]*)?>[^<]*</(?:\w+:)?f>)?\s*"""
    rb"""<(?:\w+:)?v>#(?:REF!|VALUE!|NAME\?|NUM!|NULL!)</"""
)
_MOST_TOLD = 4


def unshown_told(path: Path) -> tuple[str, ...]:
    """One sentence for errors and one for formulas without a value. The workbook's size has been checked before."""
    errors, unvalued = list[str](), list[str]()
    try:
        with zipfile.ZipFile(path) as archive:
            for entry in archive.infolist():
                if _SHEET.fullmatch(entry.filename):
                    for block in blocks_of(archive, entry):
                        # to look for three bytes is quick, to look at every cell is not
                        errors += map(bytes.decode, _ERROR.findall(block)) if b"v>#" in block else ()
                        unvalued += map(bytes.decode, _NO_VALUE.findall(block)) if b"f>" in block else ()
    except (zipfile.BadZipFile, zlib.error, OSError, ValueError, NotImplementedError, RuntimeError, EOFError):
        return ()
    told = (
        (errors, "a formula shows an error of the spreadsheet", "correct it there"),
        (unvalued, "a formula was never worked out", "open the file in a spreadsheet and save it"),
    )
    return tuple(f"read as empty, since {why}: {few_of(cells, _MOST_TOLD)}; {do}" for cells, why, do in told if cells)

"""Tells the cells of a workbook in which a formula shows no value: they are read as empty, so it has to be said.

A formula shows an error where what it reads is gone (#REF!), and nothing at all where a program wrote it that does not
work formulas out. `#N/A` and `#DIV/0!` are what formulas show beside a row that is not filled in yet: nothing is lost.
"""

import re
import zipfile
from collections.abc import Iterator
from html import unescape

from pipeline.errors import few_of
from pipeline.ingest.files.workbook_size import blocks_of

# ECMA-376 Part 1, 18.2.19: a sheet's name and, where nobody sees it, its state; 9.3: which part it is
_SHEET = re.compile(r"<(?:\w+:)?sheet\s[^<>]*>")
_PART = re.compile(r"<(?:\w+:)?Relationship\s[^<>]*>")
_SAID = re.compile(r"""([\w:]+)\s*=\s*(?:"([^"]*)"|'([^']*)')""")
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


def unshown_told(archive: zipfile.ZipFile) -> tuple[str, ...]:
    """One sentence for errors and one for formulas without a value, in the sheets that are seen.

    archive  the workbook, whose size has been checked. Raises what reading a damaged one may (BROKEN_ARCHIVE, OSError).
    """
    errors, unvalued = list[str](), list[str]()
    sheets = _sheets_seen(archive)
    for name, entry in sheets:
        where = f" of {name}" if len(sheets) > 1 else ""
        for block in blocks_of(archive, entry):
            # to look for three bytes is quick, to look at every cell is not
            errors += [f"{one.decode()}{where}" for one in _ERROR.findall(block)] if b"v>#" in block else []
            unvalued += [f"{one.decode()}{where}" for one in _NO_VALUE.findall(block)] if b"f>" in block else []
    told = (
        (errors, "a formula shows an error of the spreadsheet", "correct it there"),
        (unvalued, "a formula was never worked out", "open the file in a spreadsheet and save it"),
    )
    return tuple(f"read as empty, since {why}: {few_of(cells, _MOST_TOLD)}; {do}" for cells, why, do in told if cells)


def _sheets_seen(archive: zipfile.ZipFile) -> list[tuple[str, zipfile.ZipInfo]]:
    """The name and the part of every sheet that is not hidden."""
    parts = {one.get("Id"): one.get("Target", "") for one in _tags(archive, "xl/_rels/workbook.xml.rels", _PART)}
    entries = {entry.filename: entry for entry in archive.infolist()}
    found = []
    for sheet in _tags(archive, "xl/workbook.xml", _SHEET):
        # the letters before the colon are the file's own choice
        part = next((parts.get(text, "") for key, text in sheet.items() if key.endswith(":id")), "")
        entry = entries.get(part.removeprefix("/") if part.startswith("/") else f"xl/{part}")
        if (
            entry is not None
            and part.rpartition("/")[0].endswith("worksheets")
            and sheet.get("state", "visible") == "visible"
        ):
            found.append((sheet.get("name", ""), entry))
    return found


def _tags(archive: zipfile.ZipFile, part: str, tag: re.Pattern[str]) -> Iterator[dict[str, str]]:
    """What each such tag of a part says."""
    for found in tag.findall(archive.read(part).decode("utf-8")):
        yield {name: unescape(double or single) for name, double, single in _SAID.findall(found)}

"""Reads JSON lines as text: one object a line, its keys the columns; every row has the number of its line.

Keys may come in any order and be left out; null and a key that is not there are empty cells. A line that is no object
costs its own row only.
"""

import json
import re
from collections.abc import Iterator
from pathlib import Path

from pipeline.ingest.files.encodings import OTHER_FORMS, is_text
from pipeline.ingest.files.headers import Header, Unreadable, find_header
from pipeline.ingest.files.sheets import Row, Sheet, parts_of
from pipeline.ingest.files.workbook import cell_text, number_text
from pipeline.ingest.judging.cells import NOT_A_TEXT
from pipeline.ingest.records import NUMBER, Record

LONGEST_LINE = 1 << 20
MOST_KEYS = 2_000
WHERE = "the keys of its lines"
_MARK = b"\xef\xbb\xbf"
_PASSED_OVER = 1 << 22
# Tolerated, since the typed path tolerates it.
_LAST_COMMA = re.compile(r",\s*\}\s*$")
# Objects are given as their pairs, so that a key that stands twice is seen.
_DECODER = json.JSONDecoder(object_pairs_hook=tuple)

# The cells of one line by key, or what is wrong with the line.
Fields = dict[str, object] | str


def check_json(path: Path) -> None:
    """Raises Unreadable for an empty file, and for one that is not text or one JSON value as a whole."""
    with path.open("rb") as file:
        head = file.read(4096).removeprefix(_MARK)
        if not head.strip():
            raise Unreadable("the file is empty; write one JSON object a line")
        for mark, form in OTHER_FORMS.items():
            if head.startswith(mark):
                raise Unreadable(f"this is not JSON lines but {form}")
        if not is_text(file, head):
            raise Unreadable("this is not text; save it as JSON lines, UTF-8")
    if head.lstrip().startswith(b"["):
        raise Unreadable("this is one JSON list; write one object a line, without brackets and commas around them")


def read_json(record: Record, path: Path) -> list[Sheet]:
    """The one sheet of a file of JSON lines. Raises Unreadable, as check_json, and where a required key is missing."""
    check_json(path)
    keys = find_keys(fields for _, fields in _fields(_lines(path)))
    header = find_header(record, keys, WHERE)
    return [Sheet(None, header, parts_of(record, header, rows_of(record, header, keys, _lines(path))))]


def objects_of(path: Path) -> Iterator[tuple[int, Fields]]:
    """(number, object) of every line that is not blank, objects in it as pairs; for one that is none, what is wrong.

    Raises Unreadable, as check_json.
    """
    check_json(path)
    return _fields(_lines(path))


def find_keys(lines: Iterator[Fields]) -> list[str]:
    """Every key, by name. Raises Unreadable where no line is an object, or keys are no end."""
    keys: set[str] = set()
    has_objects = False
    for fields in lines:
        if isinstance(fields, dict):
            has_objects = True
            keys.update(fields)
        if len(keys) > MOST_KEYS:
            raise Unreadable(f"its lines have more than {MOST_KEYS:,} different keys; use the names of the columns")
    if not has_objects:
        raise Unreadable('none of its lines is a JSON object; write one a line, such as {"install_id": "D1"}')
    return sorted(keys)


def rows_of(
    record: Record, header: Header, keys: list[str], lines: Iterator[tuple[int, bytes | None]]
) -> Iterator[Row]:
    """The lines as rows of cells in the order of the keys; for a line that is no object, what is wrong with it."""
    kinds = {keys[place]: record.column(name).kind for name, place in header.places.items()}
    for row, fields in _fields(lines):
        if isinstance(fields, str):
            yield row, fields
        else:
            yield row, [_text_for(kinds.get(key), fields.get(key)) for key in keys]


def _text_for(kind: str | None, cell: object) -> str:
    if cell is None:
        return ""
    if isinstance(cell, tuple | list):
        return NOT_A_TEXT
    return number_text(cell) if kind == NUMBER else cell_text(cell)


def _fields(lines: Iterator[tuple[int, bytes | None]]) -> Iterator[tuple[int, Fields]]:
    """Every line that is not blank, by number."""
    for row, line in lines:
        if line is None:
            yield row, f"the line is longer than {LONGEST_LINE:,} bytes; write one object a line"
        elif line.strip():
            yield row, _parsed(line)


def _parsed(line: bytes) -> Fields:
    try:
        text = line.decode()
        pairs = _decoded(text.rstrip())
        if "\\u" in text:
            # half a character is written as if it were one
            json.dumps(pairs, ensure_ascii=False).encode()
    except UnicodeError:
        return "its text is damaged; save the line again as UTF-8"
    except RecursionError:
        return "the line is nested too deeply; give each key one text or number"
    except json.JSONDecodeError as error:
        return f"the line is no JSON from character {error.colno} on; write one whole object on it"
    except ValueError:
        return "a number in the line has thousands of digits; write it shorter"
    if not isinstance(pairs, tuple):
        return 'the line holds no JSON object; write one, such as {"install_id": "D1"}'
    if "\\u0000" in text:
        return "a zero character (\\u0000) stands in the line; take it out"
    fields = dict(pairs)
    if len(fields) < len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        return f"the key '{twice}' stands twice in the line; keep one"
    return fields


def _decoded(text: str) -> object:
    try:
        return _DECODER.decode(text)
    except json.JSONDecodeError:
        without, found = _LAST_COMMA.subn("}", text)
        if not found:
            raise
        return _DECODER.decode(without)


def _lines(path: Path) -> Iterator[tuple[int, bytes | None]]:
    """(number, line) of every line; None for one that is too long to be an object of a record."""
    with path.open("rb") as file:
        row = 0
        while line := file.readline(LONGEST_LINE + 1):
            row += 1
            is_whole = len(line) <= LONGEST_LINE or line.endswith(b"\n")
            yield row, (line.removeprefix(_MARK) if row == 1 else line) if is_whole else None
            while not is_whole:
                rest = file.readline(_PASSED_OVER)
                is_whole = not rest or rest.endswith(b"\n")

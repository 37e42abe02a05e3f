"""Files of JSON lines as a grid: a heading for every key, what stands in objects and lists under the keys over it.

{"door": "D1", "leaves": [{"head gap": {"hinge": 3}}]} has the headings "door" and "leaves / 1 / head gap / hinge".
"""

from collections.abc import Iterator
from pathlib import Path

from pipeline.ingest.files.headers import Unreadable
from pipeline.ingest.files.json_text import MOST_KEYS, objects_of
from pipeline.ingest.matching.sheet.grid import Cell, Grid
from pipeline.ingest.matching.sheet.headings import JOINT


def json_grid(path: Path, most: int = -1) -> Grid:
    """The one grid of a file; rows are told by the numbers of its lines.

    most  lines to read; -1: all

    Raises Unreadable where a line is no object, for its rows cannot be told from headings then.
    """
    headings: dict[str, int] = {}
    rows: list[list[Cell]] = []
    notes: tuple[str, ...] = ()
    for line, fields in objects_of(path):
        if isinstance(fields, str):
            raise Unreadable(f"line {line}: {fields}")
        if 0 <= most < line:
            notes = (f"looked at its first {most:,} lines only",)
            break
        rows += [[] for _ in range(line - 1 - len(rows))]  # lines left empty
        rows.append(_row(fields, headings))
    if not rows:
        raise Unreadable('none of its lines is a JSON object; write one a line, such as {"door": "D1"}')
    return Grid(None, [list(headings), *rows], "", notes=notes, top=-1)


def _row(fields: dict[str, object], headings: dict[str, int]) -> list[Cell]:
    """The cells of a line; keys that are new to the file become headings."""
    cells = {headings.setdefault(name, len(headings)): cell for name, cell in _flat(fields, "")}
    if len(headings) > MOST_KEYS:
        raise Unreadable(f"its lines have more than {MOST_KEYS:,} different keys; write one object for each door")
    return [cells.get(place, "") for place in range(len(headings))]


def _flat(value: object, path: str) -> Iterator[tuple[str, Cell]]:
    """(heading, cell) of everything that stands in a value. Objects are pairs, as json_text reads them."""
    pairs: list[tuple[str, object]] | None = None
    if isinstance(value, dict):
        pairs = list(value.items())
    elif isinstance(value, tuple):
        pairs = list(value)
    elif isinstance(value, list):
        pairs = [(str(number), one) for number, one in enumerate(value, start=1)]
    if pairs is None:
        yield path, "" if value is None else value
        return
    for name, one in pairs:
        yield from _flat(one, JOINT.join(filter(None, (path, " ".join(name.split())))))

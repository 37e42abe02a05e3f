"""Which headings of a firm's own sheet nothing is read from, and what its mapping says of each."""

from pipeline.ingest.declared.mapping import SheetMap, folded
from pipeline.ingest.files.unread import LEFT_OUT, NEW, NO_PLACE, WHY, Unread
from pipeline.ingest.matching.forms.form import FormCells
from pipeline.ingest.matching.sheet.body import TableCells
from pipeline.ingest.matching.sheet.found import Found


def unread_of(found: Found, is_counted: bool = True) -> tuple[Unread, ...]:
    """The headings of a sheet, or labels of a form, that hold something and are not read.

    is_counted  false: the cells at hand are not all there are, so that nothing is said of how many are filled
    """
    entries = []
    for text in _written(found):
        n_cells = sum(found.cells.own(folded(text)))
        if n_cells or not is_counted:
            state = _state(folded(text), found.sheet_map)
            entries.append(Unread(text, n_cells if is_counted else None, state, WHY[state]))
    return tuple(entries)


def _written(found: Found) -> list[str]:
    """The headings that are not read, as the sheet writes them; of a form those that its mapping speaks of."""
    sheet_map = found.sheet_map
    if isinstance(found.cells, TableCells):
        return [text for text in found.cells.heads.written if text and folded(text) not in sheet_map.headings]
    named = [name for name in (*sheet_map.not_placed, *sheet_map.ignore) if name not in sheet_map.headings]
    return [dict(sheet_map.spelt).get(name, name) for name in named if _is_there(found, name)]


def _is_there(found: Found, name: str) -> bool:
    return isinstance(found.cells, FormCells) and found.cells.at(name) is not None


def _state(name: str, sheet_map: SheetMap) -> str:
    if name in sheet_map.ignore:
        return LEFT_OUT
    return NO_PLACE if name in sheet_map.not_placed else NEW

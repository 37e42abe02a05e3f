"""A sheet with one row for each reading or check, named in the firm's own words in a column of items."""

from dataclasses import dataclass, replace

from pipeline.catalogue import Catalogue
from pipeline.ingest.matching.assign import Placed, assign
from pipeline.ingest.matching.evidence import look_at
from pipeline.ingest.matching.layout import Layout
from pipeline.ingest.matching.mapping import Each
from pipeline.ingest.matching.meaning import SURE
from pipeline.ingest.matching.vocabulary import split_unit
from pipeline.ingest.matching.wide import Proposed, propose_one, spread_evenly
from pipeline.ingest.records import CHECKS, READINGS

_MOST_ITEMS = 400
# Of the rows, this share must be items that are understood.
_UNDERSTOOD = 0.5


@dataclass(frozen=True)
class Tall:
    """item, value: folded headings. columns: further columns; each: entries by record; doubts: (item, why)."""

    item: str
    value: str
    columns: dict[str, Placed]
    each: dict[str, list[Proposed]]
    doubts: tuple[tuple[str, str], ...]


def find_tall(layout: Layout, catalogue: Catalogue, taken: frozenset[str]) -> Tall | None:
    """The column of items and that of values, where the sheet has both and most items are understood."""
    found = assign(READINGS, layout, taken).placed
    seen = assign(CHECKS, layout, taken).placed
    item, value = found.get("measure") or seen.get("check"), found.get("value") or seen.get("outcome")
    if item is None or value is None or item.heading == value.heading:
        return None
    if layout.evidence[item.heading].distinct > _MOST_ITEMS:
        return None
    entries, doubts, share = _items(layout, catalogue, (item.heading, value.heading))
    if share < _UNDERSTOOD:
        return None
    each: dict[str, list[Proposed]] = {}
    for one in entries:
        each.setdefault(one.record, []).append(_without_unit(one) if "unit" in found else one)
    further = {name: placed for name, placed in {**seen, **found}.items() if name not in _OWN}
    return Tall(item.heading, value.heading, further, each, tuple(doubts))


_OWN = ("install_id", "measure", "check", "value", "outcome")


def _items(
    layout: Layout, catalogue: Catalogue, columns: tuple[str, str]
) -> tuple[list[Proposed], list[tuple[str, str]], float]:
    """(entries, items in doubt and why, share of rows whose item is understood)."""
    unit = split_unit(layout.heads.written[layout.heads.places[columns[1]]])[1]
    item_texts, values = layout.cells.texts(columns[0]), layout.cells.texts(columns[1])
    by_item: dict[str, list[object]] = {}
    for item, value in zip(item_texts, values, strict=True):
        if item:
            by_item.setdefault(item, []).append(value)
    entries, doubts, n_understood = [], [], 0
    for item, cells in by_item.items():
        one = propose_one(item, look_at(cells), catalogue, None, unit)
        if one is None or one.sure < SURE:
            doubts.append((item, one.doubt if one else "it names no reading or check that fitback knows"))
            continue
        n_understood += len(cells)
        entries.append(_as_item(one, item))
    entries = spread_evenly(entries)
    return entries, doubts, n_understood / max(1, sum(map(len, by_item.values())))


def _as_item(one: Proposed, item: str) -> Proposed:
    return Proposed(one.record, Each(None, item, one.each.fixed, one.each.share), one.along, one.why, one.sure)


def _without_unit(one: Proposed) -> Proposed:
    """The entry where a column says the unit row by row."""
    fixed = tuple(pair for pair in one.each.fixed if pair[0] != "unit")
    return replace(one, each=replace(one.each, fixed=fixed))

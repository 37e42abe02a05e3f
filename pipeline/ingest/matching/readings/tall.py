"""A sheet with one row for each reading or check, named in the firm's own words in a column of items."""

from dataclasses import dataclass, replace
from operator import attrgetter

from pipeline.catalogue import Catalogue
from pipeline.ingest.declared.mapping import folded
from pipeline.ingest.matching.columns.assign import assign
from pipeline.ingest.matching.columns.evidence import Evidence, look_at
from pipeline.ingest.matching.columns.layout import Layout, is_as_above
from pipeline.ingest.matching.columns.over_rows import leaf_over_rows
from pipeline.ingest.matching.columns.own_words import own_words
from pipeline.ingest.matching.columns.placed import Placed
from pipeline.ingest.matching.columns.proposed import Proposed
from pipeline.ingest.matching.readings.bare_distances import in_their_unit
from pipeline.ingest.matching.readings.further_leaves import further_leaves
from pipeline.ingest.matching.readings.inches_at_end import with_their_like
from pipeline.ingest.matching.readings.outcome_columns import are_marks
from pipeline.ingest.matching.readings.wide import propose_one, signed_by_notes, spread_evenly
from pipeline.ingest.matching.sheet.body import filled
from pipeline.ingest.matching.sheet.places_apart import is_distance
from pipeline.ingest.matching.sheet.rows import item_name
from pipeline.ingest.matching.words.contents import is_leaf
from pipeline.ingest.matching.words.heading_units import split_unit
from pipeline.ingest.matching.words.meaning import SURE
from pipeline.ingest.matching.words.places import LEAF_MEASURES
from pipeline.ingest.matching.words.vocabulary import meant_by, outcome_of, trade_words
from pipeline.ingest.records import CHECKS, READINGS, Record
from pipeline.ingest.texts.numbers import read_number
from pipeline.ingest.texts.words import MEMBERS, STATIONS, known_place

_MOST_ITEMS = 400
# Of the rows, this share must be items that are understood.
_UNDERSTOOD = 0.5
# The same where no heading says that the column holds what was read; of its cells, fewer are numbers.
_PLAINLY, _FEW_NUMBERS = 0.8, 0.3
_ITEMS = ("measure", "check")
# No door is so long in cm or inches, and no fixing has such a number.
_FAR_ALONG = 1000
# So much less of the rows may be understood where the place is read together with the item.
_LESS_AT_MOST = 0.1


@dataclass(frozen=True)
class Tall:
    """items, value: folded headings. columns: further columns; each: entries by record; doubts: (item, why).

    items  the column of items, and those that say with it what a row is
    filled  headings of which a blank is the same as above: what is read on and on of one leaf
    marks  (column, outcome) where a mark stands under the outcome in place of a value
    """

    items: tuple[str, ...]
    value: str
    columns: dict[str, Placed]
    each: dict[str, list[Proposed]]
    doubts: tuple[tuple[str, str], ...]
    marks: tuple[tuple[str, str], ...] = ()
    filled: tuple[str, ...] = ()


class _Named:
    """What columns say together of what each row is. headings: that of the items, and those of places and stages.

    filled     of these, the headings of which a blank is the same as above
    placeless  items that the place above is none of
    """

    def __init__(self, layout: Layout, headings: tuple[str, ...], doors: list[str]) -> None:
        self.layout, self.headings = layout, headings
        self.filled = tuple(one for one in headings if is_as_above(layout, one, is_needed=True))
        at_blanks, once = self._beside_blank_places(doors)
        if at_blanks and at_blanks == once:
            # no item goes on at the place above: blanks are no places
            places = self._places()
            self.filled, once = tuple(one for one in self.filled if one not in places), frozenset()
        self.placeless = once

    @property
    def columns(self) -> list[list[str]]:
        """The cells under each heading, those filled that are."""
        return _columns(self.layout, self.headings, self.filled)

    def _places(self) -> list[str]:
        """The headings of places whose blanks are filled; a stage of the work holds for all that stands under it."""
        return [one for one in self.headings[1:] if one in self.filled and not _are_steps(self.layout.evidence[one])]

    def _beside_blank_places(self, doors: list[str]) -> tuple[frozenset[str], frozenset[str]]:
        """Items beside a blank place, and those of them that stand at no more than one place of each door.

        What is read at place after place, the place written once for all of it, comes again at every one of them.
        """
        written = [self.layout.cells.texts(one) for one in self._places()]
        if not written:
            return frozenset(), frozenset()
        items = self.columns[0]
        at_blanks = frozenset(item for item, *texts in zip(items, *written, strict=True) if not all(texts))
        found: dict[tuple[str, str], set[tuple[str, ...]]] = {}
        for door, item, *at in zip(doors, items, *map(filled, written), strict=True):
            found.setdefault((item, door), set()).add(tuple(at))
        return at_blanks, at_blanks - {item for (item, _), places in found.items() if len(places) > 1}


@dataclass(frozen=True)
class _Read:
    """What is read by one column of items. found, seen: what other headings say of readings and of checks."""

    named: _Named
    value: str
    found: dict[str, Placed]
    seen: dict[str, Placed]
    entries: list[Proposed]
    doubts: list[tuple[str, str]]
    share: float


def find_tall(layout: Layout, catalogue: Catalogue, taken: frozenset[str], doors: list[str]) -> Tall | None:
    """The column of items and that of values, where the sheet has both and most items are understood.

    doors  the number of the door of each row
    """
    one = _read_by(None, layout, catalogue, (taken, doors))
    if one is None or one.share < _UNDERSTOOD:
        # whatever is headed as what was read, another column may name it: Code beside Point
        others = (_read_by(heading, layout, catalogue, (taken, doors)) for heading in _may_name(layout, taken))
        one = max(filter(None, others), key=attrgetter("share"), default=None)
        if one is None or one.share < _PLAINLY:
            return None
    marks = _marked(layout)
    each: dict[str, list[Proposed]] = {}
    for entry in one.entries:
        if entry.record == CHECKS.name or not marks:
            each.setdefault(entry.record, []).append(_without_unit(entry) if "unit" in one.found else entry)
    each = {record: [*entries, *further_leaves(entries)] for record, entries in each.items()}
    used = {*one.named.headings, *dict(marks)}
    further = {
        name: placed
        for name, placed in {**one.seen, **one.found}.items()
        if name not in _OWN and placed.heading not in used
    }
    if "station" in further and _are_distances_too(layout.evidence[further["station"].heading].texts):
        further["position_mm"] = replace(further["station"], column="position_mm")
    if "member" not in further and _measures(each) <= LEAF_MEASURES and (leaf := leaf_over_rows(layout)) is not None:
        further["member"] = leaf
    filled_down = _filled_down(one.named, further, each)
    return Tall(one.named.headings, one.value, further, each, tuple(one.doubts), marks, filled_down)


def _may_name(layout: Layout, taken: frozenset[str]) -> list[str]:
    """Headings of words that come again and again, as what is read at door after door does."""
    return [
        heading
        for heading, one in layout.evidence.items()
        if heading not in taken
        and not one.are_days
        and one.numbers < _FEW_NUMBERS
        and 1 < 2 * one.distinct <= one.filled
        and one.distinct <= _MOST_ITEMS
    ]


def _said(record: Record, heading: str | None, layout: Layout, taken: frozenset[str]) -> dict[str, Placed]:
    """What headings say of a record; where one is known to hold the items, what the others say beside them."""
    if heading is None:
        return assign(record, layout, taken).placed
    beside = tuple(one for one in record.columns if one.name not in _ITEMS)
    return assign(replace(record, columns=beside), layout, taken | {heading}).placed


def _read_by(
    heading: str | None, layout: Layout, catalogue: Catalogue, given: tuple[frozenset[str], list[str]]
) -> _Read | None:
    """What is read by a column of items, else by the one that is headed so; None where there is no such, or no value.

    given  the headings that are taken; the number of the door of each row
    """
    taken, doors = given
    found, seen = (_said(record, heading, layout, taken) for record in (READINGS, CHECKS))
    headed, read = found.get("measure") or seen.get("check"), found.get("value") or seen.get("outcome")
    item = heading or (headed.heading if headed else None)
    marks = _marked(layout)
    value = marks[0][0] if marks else read.heading if read else None
    if item is None or value is None or item == value or layout.evidence[item].distinct > _MOST_ITEMS:
        return None
    named = _Named(layout, (item,), doors)
    entries, doubts, share = _items(named, catalogue, value)
    if places := _places(layout, found, item):
        at_places = _Named(layout, (item, *places), doors)
        together = _items(at_places, catalogue, value)
        if together[2] >= share - _LESS_AT_MOST:
            named, (entries, doubts, share) = at_places, together
    return _Read(named, value, found, seen, entries, doubts, share)


def outcomes_of(layout: Layout, tall: Tall) -> list[str]:
    """The cells of what checks came to."""
    columns = _columns(layout, tall.items, tall.filled)
    names = [folded(item_name(parts)) for parts in zip(*columns, strict=True)]
    seen = {folded(str(one.each.item)) for one in tall.each.get(CHECKS.name, [])}
    texts = layout.cells.texts(tall.value)
    return [text for name, text in zip(names, texts, strict=True) if name in seen]


def _columns(layout: Layout, headings: tuple[str, ...], filled_down: tuple[str, ...]) -> list[list[str]]:
    """The cells under each heading, with blanks as above where its are filled down."""
    columns = ((one, layout.cells.texts(one)) for one in headings)
    return [filled(texts) if one in filled_down else texts for one, texts in columns]


def _measures(each: dict[str, list[Proposed]]) -> set[str | None]:
    """What the items of a sheet are; None for a check."""
    return {dict(one.each.fixed).get("measure") for entries in each.values() for one in entries}


def _filled_down(named: _Named, further: dict[str, Placed], each: dict[str, list[Proposed]]) -> tuple[str, ...]:
    """Headings that name what a row is, or its unit, once for several rows: no reading is without them."""
    layout = named.layout
    needed = [further[name].heading for name in ("unit",) if name in further]
    if "member" in further and further["member"].is_column and _measures(each) <= LEAF_MEASURES:
        # a sill level has no leaf, and would not have that of the row above
        needed.append(further["member"].heading)
    return (*named.filled, *(heading for heading in needed if is_as_above(layout, heading, is_needed=True)))


def _places(layout: Layout, found: dict[str, Placed], item: str) -> tuple[str, ...]:
    """Columns that say where in the firm's own words, which only what is read there makes plain: Door 2 lock side."""
    placed = [found[name] for name in ("member", "station") if name in found]
    placed = [one for one in placed if not _are_distances_too(layout.evidence[one.heading].texts)]
    own = [one.heading for one in placed if not _are_places(one.column, layout.evidence[one.heading])]
    steps = [heading for heading, evidence in layout.evidence.items() if _are_steps(evidence) and heading != item]
    return (*(one.heading for one in placed if own), *steps[:1])


def _are_distances_too(texts: frozenset[str]) -> bool:
    """Whether a column says how far along in mm, and for the rest ends by their names: 100, 1400, rising, hinge."""
    numbers = {text for text in texts if is_distance(text)}
    others_are_ends = all(known_place(text) in STATIONS for text in texts - numbers)
    return others_are_ends and any(number.value >= _FAR_ALONG for text in numbers if (number := read_number(text)[0]))


def _are_steps(evidence: Evidence) -> bool:
    """Whether every cell names a step of the work, under which items stand."""
    return len(evidence.texts) > 1 and all(meant_by(text, trade_words("step")) for text in evidence.texts)


def _marked(layout: Layout) -> tuple[tuple[str, str], ...]:
    """(heading, outcome) of columns of marks, one for each outcome; none where pass or fail has no column."""
    found = [(heading, outcome_of(layout.written(heading))) for heading in layout.evidence]
    marks = [(heading, word) for heading, word in found if word and are_marks(layout.evidence[heading])]
    words = [word for _, word in marks]
    return tuple(marks) if {"pass", "fail"} <= set(words) and len(words) == len(set(words)) else ()


def _are_places(column: str, evidence: Evidence) -> bool:
    """Whether every cell is a place in the trade's words, or a number of one."""
    known = {text for text, _ in own_words(column, evidence)}
    return all(
        text in known
        or known_place(text) in (*MEMBERS, *STATIONS)
        or is_leaf(text)
        or text.replace(".", "").isdecimal()
        for text in evidence.texts
    )


_OWN = ("install_id", "measure", "check", "value", "outcome")


def _items(named: _Named, catalogue: Catalogue, value: str) -> tuple[list[Proposed], list[tuple[str, str]], float]:
    """(entries, items in doubt and why, share of rows whose item is understood)."""
    layout = named.layout
    unit = split_unit(layout.written(value))[1]
    by_item: dict[tuple[str, ...], list[object]] = {}
    for *texts, cell in zip(*named.columns, layout.cells.texts(value), strict=True):
        if texts[0]:
            by_item.setdefault(tuple(texts), []).append(cell)
    if len(by_item) > _MOST_ITEMS:
        return [], [], 0.0
    entries, doubts, n_understood = [], [], 0
    found: dict[str, Proposed | None] = {}
    for parts, cells in by_item.items():
        said = layout.known.in_full(" ".join(parts[:1] if parts[0] in named.placeless else parts))
        found[item_name(parts)] = propose_one(said, look_at(cells), catalogue, None, unit)
    named_so = with_their_like({item: one for item, one in found.items() if one is not None}, found)
    for parts, cells in by_item.items():
        item = item_name(parts)
        one = named_so.get(item)
        if one is None or one.sure < SURE:
            doubts.append((item, one.doubt if one else "it names no reading or check that fitback knows"))
            continue
        n_understood += len(cells)
        entries.append(_as_item(one, item))
    placed = in_their_unit(entries)
    doubts += [(str(one.each.item), one.doubt) for one in placed if one.doubt]
    entries = [one for one in placed if not one.doubt]
    entries = signed_by_notes(spread_evenly(entries), [*layout.notes, layout.written(value)])
    return entries, doubts, n_understood / max(1, sum(map(len, by_item.values())))


def _as_item(one: Proposed, item: str) -> Proposed:
    return replace(one, each=replace(one.each, heading=None, item=item), doubt="")


def _without_unit(one: Proposed) -> Proposed:
    """The entry where a column says the unit row by row."""
    fixed = tuple(pair for pair in one.each.fixed if pair[0] != "unit")
    return replace(one, each=replace(one.each, fixed=fixed))

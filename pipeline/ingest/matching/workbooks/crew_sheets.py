"""Finds whether a workbook has a sheet for each crew: lists of doors in which no column says who fitted them.

Sheets laid out alike are taken to be crews' where nothing says that their names are those of something else. Sheets
that differ need more: a name or a title that says crew, or that each is written in words of its own. How crews keep
their sheets is common practice, no source.
"""

import re
from itertools import combinations

from pipeline.ingest.declared.mapping import folded
from pipeline.ingest.matching.columns.elimination import NAMES_A_CREW, NO_CREW
from pipeline.ingest.matching.columns.layout import Layout, said
from pipeline.ingest.matching.words.contents import is_by_contents
from pipeline.ingest.matching.words.vocabulary import composed, meant_by, trade_words, words_in
from pipeline.ingest.records import INSTALLS

# Words by which a sheet is named that is no crew's: kinds of work and customers, how far doors are, what is listed.
_NO_NAMES = frozenset({
    "trade", "retail", "domestic", "commercial", "private", "contract", "contracts", "housing", "social", "public",
    "new", "build", "refurb", "replacement", "repair", "repairs", "pending", "done", "complete", "completed", "open",
    "closed", "live", "old", "current", "archive", "archived", "active", "cancelled", "waiting", "booked", "planned",
    "misc", "other", "others", "notes", "list", "lists", "log", "register", "doors", "jobs", "job", "installs", "fits",
    "fitted", "handed", "survey", "surveys", "surveyed", "measure", "measures", "readings", "checks", "handover",
    "handovers", "callbacks", "calls", "service", "summary", "totals", "total", "cover", "index", "bifold", "folding",
    "stock", "orders", "order", "schedule", "programme", "plot", "plots", "phase", "block", "zone", "area", "floor",
    "level", "ground", "first", "second", "type", "range", "product", "series", "system", "branch", "january",
    "february", "march", "april", "june", "july", "august", "september", "october", "november", "december", "spring",
    "summer", "autumn", "winter", "extra", "extras", "copy", "template", "blank", "example", "timber", "oak",
})  # fmt: skip
# Words that end the name of a place.
_OF_PLACES = frozenset({
    "rise", "park", "lane", "road", "street", "close", "court", "house", "farm", "mews", "gardens", "estate", "meadow",
    "meadows", "green", "way", "drive", "avenue", "square", "place", "view", "grove", "terrace", "crescent", "wharf",
    "heights", "village", "end", "hill", "yard", "walk", "site", "development",
})  # fmt: skip
# A title with one of these says by what else the sheets go.
_BY_ELSE = frozenset({
    "site", "development", "estate", "phase", "plot", "product", "system", "range", "client", "customer", "branch",
    "showroom", "area", "region", "model", "type", "builder",
})  # fmt: skip
# Columns whose cells are no crews.
_OF_OTHERS = ("product", "material", "colour", "customer", "address", "substrate", "exposure", "storey", "work")
# Of the columns that two sheets have in common, at least so many differ in their headings where each is its owner's.
_OWN_WORDS, _FEWEST_IN_COMMON = 0.5, 3
_NUMBER = INSTALLS.key[0]


def are_crews(sheets: list[tuple[dict[str, str], Layout]], file: str, known_crews: frozenset[str]) -> bool:
    """Whether sheets that list doors without saying their crew are each a crew's, and bear its name.

    sheets  each with the headings (folded) of the facts of its doors, by column
    """
    names = {layout.grid.name or "" for _, layout in sheets}
    if len(names) < 2 or any(map(_says_else, names)) or _share_doors(sheets) or _are_cells(names, sheets):
        return False
    titles = [text for _, layout in sheets for text in layout.titles_over]
    if _are_said(names, [*titles, file], known_crews):
        return True
    by_else = words_in(titles) & _BY_ELSE or _are_plots(sheets)
    if by_else or any(map(_is_a_place, names)) or _are_in_addresses(names, sheets):
        return False
    return len({layout.named for _, layout in sheets}) == 1 or _are_in_own_words(sheets)


def _are_said(names: set[str], titles: list[str], known_crews: frozenset[str]) -> bool:
    """Whether a name, a title or another sheet says that the names are those of crews."""
    are_named = any(NAMES_A_CREW.search(name) or folded(name) in known_crews for name in names)
    return are_named or bool(words_in(titles) & composed("crew")[0])


def _says_else(name: str) -> bool:
    """Whether a name is a general word, a month, or one of the trade's words for something else."""
    if not name or NO_CREW.search(name):
        return True
    if NAMES_A_CREW.search(name):
        return False
    if set(_words(name)) & _NO_NAMES or said(name) >= 1.0:
        return True
    text = frozenset({folded(name)})
    is_closed = any(is_by_contents(INSTALLS.name, column, text) for column in ("material", "work"))
    return is_closed or meant_by(name, trade_words("step")) is not None


def _is_a_place(name: str) -> bool:
    """Whether a name of several words ends as places do."""
    words = _words(name)
    return len(words) > 1 and words[-1] in _OF_PLACES


def _words(name: str) -> list[str]:
    return re.findall(r"[^\W\d_]+", name.casefold())


def _share_doors(sheets: list[tuple[dict[str, str], Layout]]) -> bool:
    """Whether a door stands in two sheets: then they are stages of the work, or each counts its own from 1."""
    doors = [_texts(_NUMBER, [sheet]) - {""} for sheet in sheets]
    return sum(map(len, doors)) > len(set().union(*doors))


def _are_cells(names: set[str], sheets: list[tuple[dict[str, str], Layout]]) -> bool:
    """Whether a name stands in a column of something else."""
    texts = {folded(text) for column in _OF_OTHERS for text in _texts(column, sheets)}
    return bool(texts & set(map(folded, names)))


def _are_in_addresses(names: set[str], sheets: list[tuple[dict[str, str], Layout]]) -> bool:
    """Whether a name stands in an address."""
    return any(folded(name) in folded(text) for text in _texts("address", sheets) for name in names)


def _texts(column: str, sheets: list[tuple[dict[str, str], Layout]]) -> set[str]:
    """The different cells of a column of all sheets."""
    return {text for facts, layout in sheets if column in facts for text in layout.cells.texts(facts[column])}


def _are_plots(sheets: list[tuple[dict[str, str], Layout]]) -> bool:
    """Whether doors are numbered by plots: lists of them go by sites."""
    return "plot" in words_in(facts.get(_NUMBER, "") for facts, _ in sheets)


def _are_in_own_words(sheets: list[tuple[dict[str, str], Layout]]) -> bool:
    """Whether any two sheets that are not laid out alike call what they both say by other headings."""
    kinds = {layout.named: facts for facts, layout in sheets}
    return all(_differ(one, other) for one, other in combinations(kinds.values(), 2))


def _differ(one: dict[str, str], other: dict[str, str]) -> bool:
    both = one.keys() & other.keys()
    other_words = sum(one[name] != other[name] for name in both)
    return len(both) >= _FEWEST_IN_COMMON and other_words >= _OWN_WORDS * len(both)

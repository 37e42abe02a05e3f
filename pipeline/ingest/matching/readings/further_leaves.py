"""Items of a list that differ by a leaf's number only: those of leaves that no door has yet."""

import re
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace

from pipeline.ingest.declared.mapping import folded
from pipeline.ingest.matching.columns.proposed import Proposed

# Hardly a door has more leaves; common practice, no source. Those that have are read once the list holds them.
_FORESEEN = 8
_LEAF = "leaf_"
_NUMBER = re.compile(r"\d+")


def further_leaves(entries: list[Proposed]) -> list[Proposed]:
    """Entries for the leaves that follow those of the given ones.

    Where `leaf 2 hinge` and `leaf 3 hinge` are two leaves' one reading, `leaf 4 hinge` is another's. One leaf alone
    shows no such thing: its number may be part of a name.
    """
    alike: dict[tuple[object, ...], dict[int, Proposed]] = defaultdict(dict)
    for entry in entries:
        for key, number in _numbered(entry):
            alike[key][number] = entry
    known = {folded(entry.each.item or "") for entry in entries}
    found = []
    for (before, after, _), by_number in alike.items():
        if len(by_number) < 2:
            continue
        last = max(by_number)
        for number in range(last + 1, _FORESEEN + 1):
            item = f"{before}{number}{after}"
            if folded(item) not in known:
                known.add(folded(item))
                why = f"not in the list yet; as '{by_number[last].each.item}'"
                found.append(replace(_of_leaf(by_number[last], item, number), why=why))
    return found


def _numbered(entry: Proposed) -> Iterator[tuple[tuple[object, ...], int]]:
    """What an item says before and after each number that is its leaf's, with all else it is; and the number."""
    item, leaf = entry.each.item or "", dict(entry.each.fixed).get("member", "")
    for found in _NUMBER.finditer(item):
        number = int(found[0])
        if leaf == f"{_LEAF}{number}" and found[0] == str(number):
            all_else = replace(_of_leaf(entry, "", 0), why="", sure=0.0, how="")
            yield (item[: found.start()], item[found.end() :], all_else), number


def _of_leaf(entry: Proposed, item: str, number: int) -> Proposed:
    fixed = tuple((name, f"{_LEAF}{number}" if name == "member" else text) for name, text in entry.each.fixed)
    return replace(entry, each=replace(entry.each, item=item, fixed=fixed))

"""Reads one note into what it says now, denies, and tells of earlier visits. Knows sentences, never faults' chances."""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import lru_cache

from pipeline.ingest.coding.lexicon import ASIDE, Lexicon, Tag

_TOKEN = re.compile(r"[^\W\d_]+(?:[-'/][^\W\d_]+)*|\d+(?:[.,/]\d+)*|[.,;:!?()+&\n]|\s-\s")
# A visit within a note: the note is about the last one.
_VISIT = re.compile(
    r"\b(?:(?:1st|2nd|3rd|[4-9]th|first|second|third|fourth|final|last)\s+(?:visit|call)|visit\s+(?:no\.?\s*)?\d"
    r"|\d{1,2}[/.]\d{1,2}(?:[/.]\d{2,4})?(?=\s*[-:]|\s+[a-z]))"
)
_SAID = ("state", "sign", "own", "answer")
_PARTS_NEVER_MISSING = frozenset(("gap", "other", "door", "place"))


@dataclass
class Clause:
    """words: as read, short forms written out. tags: what the lexicon finds; denied: the conditions said not to be."""

    words: list[str] = field(default_factory=list)
    tags: list[Tag] = field(default_factory=list)
    denied: list[Tag] = field(default_factory=list)
    is_earlier: bool = False
    is_well: bool = False
    is_start: bool = False

    def named(self, kind: str) -> list[str]:
        """The parts, states or signs found."""
        return [name for found, name in self.tags if found == kind]


def read_note(note: str, lexicon: Lexicon) -> list[Clause]:
    """The clauses of a note in order, without those of visits before the last one told of."""
    text = _last_visit(_written_out(note, lexicon))
    clauses = []
    is_earlier = False
    for words, is_start in _split(text, lexicon):
        clause = _read(tuple(words), lexicon)
        turns = [name for kind, name in clause.tags if kind == "turn"]
        if is_start or "now" in turns:
            is_earlier = False
        is_earlier = is_earlier or ("earlier" in turns and "now" not in turns)
        clauses.append(
            Clause(list(words), list(clause.tags), list(clause.denied), is_earlier, clause.is_well, is_start)
        )
    return clauses


def _written_out(note: str, lexicon: Lexicon) -> str:
    text = note.lower().replace("\u2019", "'").replace("`", "'")
    pattern, clues = _symbols(lexicon)
    if not any(clue in text for clue in clues):
        return text
    return pattern.sub(lambda found: lexicon.means[found[0]], text)


@lru_cache(maxsize=4)
def _symbols(lexicon: Lexicon) -> tuple[re.Pattern[str], frozenset[str]]:
    """Finds short forms that are more than one plain word; and what a text with one of them must hold."""
    forms = sorted((form for form in lexicon.means if not form.isalpha()), key=len, reverse=True)
    clues = (next((sign for sign in form if not sign.isalnum() and sign != " "), form.split()[0]) for form in forms)
    return re.compile("|".join(rf"(?<![\w]){re.escape(form)}(?![\w])" for form in forms)), frozenset(clues)


def _last_visit(text: str) -> str:
    starts = [found.start() for found in _VISIT.finditer(text)]
    return text[starts[-1] :] if len(starts) > 1 else text


def _split(text: str, lexicon: Lexicon) -> Iterator[tuple[list[str], bool]]:
    """Words of one clause, and whether it opens a sentence."""
    words: list[str] = []
    is_start = True
    for token in _TOKEN.findall(text):
        if token in lexicon.joins or token in lexicon.stops:
            if words:
                yield words, is_start
                words, is_start = [], False
            is_start = is_start or token in lexicon.stops
        else:
            words.extend(_spelled(token, lexicon))
    if words:
        yield words, is_start


@lru_cache(maxsize=50_000)
def _spelled(token: str, lexicon: Lexicon) -> tuple[str, ...]:
    if token[0].isdigit():
        return ("#",)
    plain = lexicon.plain(token)
    if plain == token and "/" in token:
        return tuple(word for part in token.split("/") for word in lexicon.plain(part).split())
    if token.endswith("n't"):
        return (token[:-3], "not")
    return tuple(plain.split())


@lru_cache(maxsize=200_000)
def _read(words: tuple[str, ...], lexicon: Lexicon) -> Clause:
    """What the lexicon finds in a clause, with what is denied apart."""
    content = [word for word in words if word not in lexicon.fillers]
    clause = Clause()
    place, denies = 0, False
    while place < len(content):
        length, tags = lexicon.phrases_at(content, place)
        if ("turn", "deny") in tags:
            # a sign that begins with no or not is no less one
            _take(clause, tuple(tag for tag in tags if tag[0] in ASIDE), denies)
            denies = True
        else:
            _take(clause, tags, denies)
            denies = denies and not any(kind in _SAID for kind, _ in tags)
        place += max(length, 1)
    well = ("turn", "well") in clause.tags
    clause.is_well = well and not any(kind in _SAID for kind, _ in clause.tags)
    return clause


def _take(clause: Clause, tags: tuple[Tag, ...], denies: bool) -> None:
    for tag in tags:
        kind, name = tag
        if denies and kind in _SAID:
            clause.denied.append(tag)
        else:
            clause.tags.append(tag)
        if denies and kind == "part" and name not in _PARTS_NEVER_MISSING:
            clause.tags.append(("state", "missing"))

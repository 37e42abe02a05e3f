"""The trade's words in service notes, built in and the firm's own: which phrase is a part, a condition, a sign.

Finds phrases in a list of words. Never knows what a sentence says: see `reading`.
"""

import re
import tomllib
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from typing import Any

from pipeline.catalogue.rows import NoteWord

VOWELS = "aeiou"
_WORDS = re.compile(r"[^\W\d_]+(?:[-'][^\W\d_]+)*\*?|\d+")
# Kinds of phrases that are looked for beside the others.
ASIDE = ("sign", "own", "answer")


@dataclass(frozen=True)
class Sign:
    """A fault that is meant where one of the parts and one of the conditions are said of one thing; no parts: any."""

    fault: str
    parts: frozenset[str]
    states: frozenset[str]


@dataclass(frozen=True, eq=False)
class Lexicon:
    """means: short form to plain words. signs: as in the file. phrases: by first word, longest first.

    A phrase is (words, tag); a tag is (kind, name): kind part, state, turn, sign, own (a sign the firm gave) or answer.
    """

    means: dict[str, str]
    signs: tuple[Sign, ...]
    fillers: frozenset[str]
    joins: frozenset[str]
    stops: frozenset[str]
    answers_by_fault: dict[str, str]
    _exact: dict[str, list["Phrase"]]
    _begun: dict[str, list["Phrase"]]
    _skeletons: dict[str, str]

    def phrases_at(self, words: Sequence[str], start: int) -> tuple[int, tuple["Tag", ...]]:
        """How many words the longest phrase takes that begins at a word, 0 where none does, and all its tags.

        Signs and answers use no words up: a part within a sign is still a part.
        """
        length, tags = 0, []
        for phrase, tag in _candidates(self, words[start]):
            is_aside = tag[0] in ASIDE
            if (is_aside or len(phrase) >= length) and _fits(phrase, words, start):
                length = length if is_aside else len(phrase)
                tags.append(tag)
        return length, tuple(tags)

    def plain(self, word: str) -> str:
        """The word that a short form stands for: as listed, else the one word that it is without its vowels."""
        if word in self.means:
            return self.means[word]
        if len(word) > 1 and word.isalpha() and not set(word) & set(VOWELS):
            return self._skeletons.get(_skeleton(word), word)
        return word


Tag = tuple[str, str]
Phrase = tuple[tuple[str, ...], Tag]


def load_lexicon(own: Iterable[NoteWord] = ()) -> Lexicon:
    """The built-in lexicon with a firm's own words."""
    table = tomllib.loads(files(__package__).joinpath("lexicon.toml").read_text(encoding="utf-8"))
    own = list(own)
    fillers, joins, stops = (frozenset(table["reading"][name]) for name in ("fillers", "joins", "stops"))
    means = {**table["means"], **{word.says.casefold().strip(): word.means.casefold() for word in own if word.means}}
    phrases = [(_content(phrase, fillers), tag) for phrase, tag in _built_in_phrases(table)]
    skeletons = _skeletons_of(phrases, table["reading"]["also_shortened"])
    phrases += [(_content(_spelled(word.says, means), fillers), ("own", word.fault)) for word in own if word.fault]
    signs = tuple(
        Sign(row["fault"], frozenset(row.get("parts", ())), frozenset(row["states"]))
        for row in table["sign"]
        if "states" in row
    )
    answers = table["answers_by_fault"]
    return Lexicon(means, signs, fillers, joins, stops, answers, *_by_first_word(phrases), skeletons)


def _spelled(says: str, means: dict[str, str]) -> str:
    """A firm's phrase as notes are read: short forms written out, signs between words left out, # for a number."""
    words = ("#" if word[0].isdigit() else means.get(word, word) for word in _WORDS.findall(says.casefold()))
    return " ".join(words)


def _built_in_phrases(table: dict[str, Any]) -> Iterable[tuple[str, Tag]]:
    for section, kind in (("part", "part"), ("state", "state"), ("turns", "turn"), ("answers", "answer")):
        for name, phrases in table[section].items():
            for phrase in phrases:
                yield phrase, (kind, name)
    for row in table["sign"]:
        for phrase in row.get("words", ()):
            yield phrase, ("sign", row["fault"])


def _content(phrase: str, fillers: frozenset[str]) -> tuple[str, ...]:
    words = tuple(phrase.split())
    return tuple(word for word in words if word not in fillers) or words


def _by_first_word(phrases: list[Phrase]) -> tuple[dict[str, list[Phrase]], dict[str, list[Phrase]]]:
    exact: dict[str, list[Phrase]] = defaultdict(list)
    begun: dict[str, list[Phrase]] = defaultdict(list)
    for phrase, tag in phrases:
        first = phrase[0]
        if first.endswith("*"):
            begun[first[:-1]].append((phrase, tag))
        else:
            exact[first].append((phrase, tag))
    return dict(exact), dict(begun)


@lru_cache(maxsize=50_000)
def _candidates(lexicon: Lexicon, word: str) -> list[Phrase]:
    found = list(lexicon._exact.get(word, ()))
    for length in range(2, len(word) + 1):
        found += lexicon._begun.get(word[:length], ())
    return sorted(found, key=lambda phrase: -len(phrase[0]))


def _fits(phrase: tuple[str, ...], words: Sequence[str], start: int) -> bool:
    if start + len(phrase) > len(words):
        return False
    return all(
        word.startswith(wanted[:-1]) if wanted.endswith("*") else word == wanted
        for wanted, word in zip(phrase[1:], words[start + 1 : start + len(phrase)], strict=True)
    )


def _skeletons_of(phrases: list[Phrase], others: Iterable[str]) -> dict[str, str]:
    """Words without their vowels, by what remains; only where one word remains so."""
    words = {word.rstrip("*") for phrase, _ in phrases for word in phrase}
    words |= {f"{word}s" for phrase, tag in phrases if tag[0] == "part" for word in phrase if word[-1] not in "s*"}
    words |= set(others)
    found: dict[str, set[str]] = defaultdict(set)
    for word in words:
        if len(word) > 3 and word.isalpha():
            found[_skeleton(word)].add(word)
    return {short: min(long, key=lambda word: (len(word), word)) for short, long in found.items() if len(short) > 1}


def _skeleton(word: str) -> str:
    kept = word[0] + "".join(letter for letter in word[1:] if letter not in VOWELS)
    return "".join(letter for place, letter in enumerate(kept) if place == 0 or letter != kept[place - 1])

"""What a heading of a column of readings or ticks means, by its words alone, and how sure that is."""

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from difflib import SequenceMatcher
from functools import cache, lru_cache

from pipeline.ingest.declared.mapping import PLACES_ALONG
from pipeline.ingest.matching.sheet.headings import JOINT
from pipeline.ingest.matching.words.corners import with_corners
from pipeline.ingest.matching.words.gaps_at_sides import may_be_beside, with_side_gaps
from pipeline.ingest.matching.words.heading_units import may_be_inches, split_unit, unit_among
from pipeline.ingest.matching.words.ordinals import ORDINAL_ENDS, ordinals_as_numbers
from pipeline.ingest.matching.words.places import (
    LEAF_CHECKS,
    LEAF_GAPS,
    LEAF_MEASURES,
    MEMBER_MEASURES,
    MOST_LEAVES,
    SPREAD,
    Place,
    find_place,
    without_other_numbers,
)
from pipeline.ingest.matching.words.signs import DEPTHS, contrary, is_other_way, without_sign, without_view
from pipeline.ingest.matching.words.vocabulary import composed, other_words, phrases, ways, words_of
from pipeline.ingest.matching.words.words_beside import (
    CONTRARY,
    FAR_ENDS,
    GENERAL,
    MEASURED,
    NEUTRAL,
    NOT_OF,
    QUANTITIES,
    SAID_OVER_CHECKS,
    SAID_WITH,
    THINGS,
    TURNED,
    WHEREABOUTS,
)
from pipeline.ingest.records import INSTALLS
from pipeline.ingest.texts.money import CURRENCY_WORDS, currencies

SURE, UNDECIDED = 0.6, 0.4
# Columns of free text, which may hold more than one thing.
_SAID = frozenset({"note"})
# Columns of words whose name is that of something measured too.
_MEASURED_ELSEWHERE = frozenset({"storey", "substrate"})
_COMPOSED, _UNDER_GENERAL, _SHORTENED = 0.93, 0.97, 0.85
# Where fixings and packers are counted from here as well: up from the bottom, or from the left.
_START = r"(?:the\s+)?(?:left|lh|bottom|sill|floor)\b(?:[- ](?:hand|end|side))*"
# Behind a stroke a bare side may be where it is counted from as well, or the jamb: that is left to its other words.
_FROM_ITS_START = re.compile(
    rf"\b(?:(?:up|along)\s+)?from\s+{_START}(?:\s*(?:,\s*)?\b(?:or|and)\s+(?:(?:along\s+)?from\s+)?{_START})*"
    r"(?!\s*/\s*(?:left|right|l|r)\b(?!\s+jamb))",
    re.IGNORECASE,
)
# In the corner of a small table whose columns are numbers, it tells what those are: Fixing no. / Left jamb / 3.
_OF_A_COLUMN = re.compile(r"\s*\b(?:no|nr|num|number)\b\.?(?=\s*/.*\b\d{1,2}$)", re.IGNORECASE)
# Letters that the short form of a word has at least.
_SHORTEST = 4
# What each word that was not understood takes away from how sure a heading's meaning is.
_LOST_PER_WORD = 0.25
# The same over ticks, where so many words name the check.
_LOST_OVER_TICKS, _PLAIN_WORDS = 0.12, 2
# Across the door a jamb leans in or out, in its plane to the left or right.
PLANES = {
    **dict.fromkeys(("out", "outside", "outward", "outwards", "in", "inside", "inward", "inwards"), "jamb_face"),
    **dict.fromkeys(("left", "right"), "jamb_edge"),
}
_SIDES = frozenset({"left", "right"})


# Beside a clear height the members it is between say no more.
_CLEAR_HEIGHT, _OF_ITS_ENDS = frozenset({"clear", "height"}), ("head", "sill", "under", "between")


@dataclass(frozen=True)
class Meaning:
    """name: measure or check. unit: as the heading names it. sure: 0 to 1; 0.6 and more is sure enough.

    rival  another measure or check that the heading names as well
    said   how many of its words say so
    is_turned  the heading says that it counts the other way than the measure does here
    dips   a word by which it may count the other way: how deep a sill dips
    """

    name: str
    place: Place
    unit: str | None
    sure: float
    rival: str | None = None
    said: int = 0
    is_turned: bool = False
    dips: str = ""


@lru_cache(maxsize=20_000)
def reading_meaning(heading: str) -> Meaning | None:
    """The reading that a heading names; None where it names none."""
    return _best("measures", heading)


@lru_cache(maxsize=20_000)
def check_meaning(heading: str) -> Meaning | None:
    """The check that a heading names; None where it names none."""
    return _best("checks", heading)


@lru_cache(maxsize=100_000)
def column_likeness(record: str, column: str, heading: str) -> float:
    """How much a heading is one of the ways to write a column: 1 the same words, 0 nothing of it."""
    words = words_of(heading)
    if column != "cost" and _names_money(heading):
        # an amount of money, whatever of: Contract £
        return 0.0
    if column in _MEASURED_ELSEWHERE and split_unit(heading)[1] is not None:
        # a level in mm is none of a building, and fixings in mm are fixed to nothing yet
        return 0.0
    if column == "cost":
        # the currency says no more than that it is money: Amount EUR
        words = tuple(word for word in words if word not in CURRENCY_WORDS) or words
    mine = frozenset(words)
    alike = max((_likeness(words, mine, way, its) for way, its in _ways_like(record, column, words)), default=0.0)
    return max(alike, _COMPOSED if _is_composed(column, words) else 0.0)


@lru_cache(maxsize=20_000)
def _names_money(heading: str) -> bool:
    return bool(currencies([heading]))


_Way = tuple[tuple[str, ...], frozenset[str]]


def _ways_like(record: str, column: str, words: tuple[str, ...]) -> Iterable[_Way]:
    """The ways to write a column that have a word of a heading, or begin as it does; all others are unlike it."""
    by_word, by_letter = _ways_of(record, column)
    found = dict(one for word in words for one in by_word.get(word, ()))
    return (found | dict(by_letter.get(words[0][0], ())) if words and words[0] else found).items()


@cache
def _ways_of(record: str, column: str) -> tuple[dict[str, list[_Way]], dict[str, list[_Way]]]:
    """The ways to write a column, the words in their order and as a set: by each of their words, by first letter."""
    by_word: dict[str, list[_Way]] = {}
    by_letter: dict[str, list[_Way]] = {}
    for way in ways()[record].get(column, ()):
        one = way, frozenset(way)
        for word in one[1]:
            by_word.setdefault(word, []).append(one)
        if way and way[0]:
            by_letter.setdefault(way[0][0], []).append(one)
    return by_word, by_letter


def _is_composed(column: str, words: tuple[str, ...]) -> bool:
    """Whether a heading is made of nothing but a word for the thing and words that go with it: our door reference."""
    things, beside, least = composed(column)
    return len(words) >= least and set(words) <= things | beside and bool(set(words) & things)


@lru_cache(maxsize=100_000)
def likeness_under(record: str, column: str, heading: str) -> float:
    """The same for a heading under others, which may say no more than what several have in common."""
    likeness = column_likeness(record, column, heading)
    upper, _, lower = heading.rpartition(JOINT)
    if upper and set(words_of(split_unit(heading)[0].rpartition(JOINT)[0])) <= GENERAL:
        return max(likeness, _UNDER_GENERAL * column_likeness(record, column, lower))
    if upper and min(column_likeness(record, column, part) for part in (upper, lower)) == 1.0:
        # both say the same, once in general and once more: System / Range
        return _UNDER_GENERAL
    if upper and column in _SAID and max(column_likeness(record, column, part) for part in (upper, lower)) == 1.0:
        # what was said, whatever else is said with it: Problem / action taken
        return max(likeness, _SHORTENED)
    if upper and column == INSTALLS.key[0]:
        # whatever stands over it, the door is the door
        return max(likeness, 0.85 * column_likeness(record, column, lower))
    return likeness


def _best(kind: str, heading: str) -> Meaning | None:
    heading = with_corners(with_side_gaps(ordinals_as_numbers(without_view(heading))))
    words = words_of(heading)
    # behind what is read or seen, (min) is its minimum
    if not words or set(words) & other_words() or split_unit(heading)[1] == "min":
        return None
    found = _under_another(kind, heading, _of_words(kind, heading, words))
    if found is not None and ORDINAL_ENDS & set(found.place.left):
        # read a second time, or at the second visit
        return replace(found, sure=min(found.sure, UNDECIDED))
    if found is not None and found.name in ("head_gap", "threshold_gap") and may_be_beside(heading):
        return replace(found, sure=min(found.sure, UNDECIDED), rival="side_gap")
    return found


def of_ticks(meaning: Meaning) -> Meaning:
    """The meaning of a heading over ticks: two words that name a check outweigh others that do not deny it."""
    left = meaning.place.left
    if meaning.rival or meaning.said < _PLAIN_WORDS or set(left) & (TURNED | CONTRARY | MEASURED | ORDINAL_ENDS):
        return meaning
    return replace(meaning, sure=max(meaning.sure, 1.0 - _LOST_OVER_TICKS * len(left)))


def _under_another(kind: str, heading: str, found: Meaning | None) -> Meaning | None:
    """What is said under the name of another reading, over which that name was not meant to stand."""
    upper, _, lower = heading.rpartition(JOINT)
    if not upper:
        return found
    above, alone = _of_words("measures", upper, words_of(upper)), _of_words(kind, lower, words_of(lower))
    if above is None or alone is None or min(above.sure, alone.sure) < SURE or above.name == alone.name:
        return found
    if found is not None and found.sure >= SURE and found.name != alone.name:
        return found
    if above.name == alone.name.replace("frame_", "aperture_"):
        # what stands below says no more than where: Opening diagonals / Corner BL-TR
        return replace(alone, name=above.name, sure=_UNDER_GENERAL * alone.sure)
    place = alone.place
    if alone.name in LEAF_CHECKS and above.name in LEAF_MEASURES and not place.member:
        # what is seen of a leaf is seen of the one that stands above
        place = replace(place, member=above.place.member)
    return replace(alone, place=place, sure=_UNDER_GENERAL * alone.sure)


def _of_words(kind: str, heading: str, words: tuple[str, ...]) -> Meaning | None:
    meanings = [_meaning(kind, name, said, heading) for name, way, said in _phrases_in(kind, words)]
    meanings.sort(key=lambda one: -one.sure)
    meanings = _in_said_plane(meanings, heading)
    if len(meanings) > 1 and meanings[1].name != meanings[0].name and meanings[1].sure == meanings[0].sure:
        return replace(meanings[0], sure=min(meanings[0].sure, UNDECIDED), rival=meanings[1].name)
    return _signed(meanings[0], heading) if meanings else None


def _in_said_plane(meanings: list[Meaning], heading: str) -> list[Meaning]:
    """The meanings; of a jamb's two planes only the one in which what is said to be plus can be a way."""
    plane = PLANES.get(without_sign(heading)[1])
    return [one for one in meanings if plane is None or one.name not in PLANES.values() or one.name == plane]


_Phrase = tuple[str, frozenset[str], frozenset[str]]


def _phrases_in(kind: str, words: tuple[str, ...]) -> list[_Phrase]:
    """The phrases all of whose words a heading has, in their order."""
    mine, by_word = frozenset(words), _phrases_by_word(kind)
    found = [one for word in mine for one in by_word.get(word, ()) if one[1][1] <= mine]
    return [phrase for _, phrase in sorted(found, key=lambda one: one[0])]


@cache
def _phrases_by_word(kind: str) -> dict[str, list[tuple[int, _Phrase]]]:
    """Every phrase with its place in their order, by one of its words."""
    found: dict[str, list[tuple[int, _Phrase]]] = {}
    for at, phrase in enumerate(phrases(kind)):
        found.setdefault(min(phrase[1], default=""), []).append((at, phrase))
    return found


def _signed(one: Meaning, heading: str) -> Meaning:
    """The meaning, turned where the heading says that plus is the other way; in doubt where it only names that way."""
    plain, plus = split_unit(heading)[0], without_sign(heading)[1]
    word = contrary(one.name, plain, plus)
    if not word:
        return one
    if is_other_way(one.name, plus):
        return replace(one, is_turned=True)
    if word in DEPTHS and one.sure >= SURE:
        return replace(one, dips=word)
    left = tuple(dict.fromkeys((*one.place.left, word)))
    return replace(one, place=replace(one.place, left=left), sure=min(one.sure, UNDECIDED))


def _meaning(kind: str, name: str, way: frozenset[str], heading: str) -> Meaning:
    if name in PLACES_ALONG:
        heading = _OF_A_COLUMN.sub("", _FROM_ITS_START.sub(" ", heading))
    heading = without_other_numbers(name, heading)
    words = words_of(heading)
    unit = split_unit(heading)[1]
    left = tuple(word for word in _beside(words, way) if word not in SAID_WITH.get(name, ()))
    if unit is None and kind == "measures" and not may_be_inches(heading) and (unit := unit_among(words)):
        left = tuple(word for word in left if not unit_among([word]))
    if name == "clear_height" and way >= _CLEAR_HEIGHT:
        left = tuple(word for word in left if word not in _OF_ITS_ENDS)
    if name in MEMBER_MEASURES and "jamb" in way:
        left = (*left, "jamb")
    if name not in LEAF_MEASURES:
        left = tuple(word for word in left if word not in NEUTRAL)
    place = find_place(name, left) if kind == "measures" else _check_place(name, left, heading)
    sure = 1.0 - _LOST_PER_WORD * len(place.left)
    is_of_more = MEASURED & set(place.left) or (len(way) == 1 and THINGS & set(left))
    if kind == "checks" and (CONTRARY & set(place.left) or is_of_more):
        sure = min(sure, UNDECIDED)
    if kind == "measures":
        sure -= _doubt(name, place) + (0.5 if any(unit_among([word]) for word in place.left) else 0.0)
    # of two ways to read a heading, the one that understands more of its words is better
    return Meaning(name, place, unit, min(1.0, sure) + len(way) / 1000, said=len(way))


def _beside(words: tuple[str, ...], way: frozenset[str]) -> tuple[str, ...]:
    """The words that a phrase does not take up; of left / right it takes the pair, not a side apart."""
    if way >= _SIDES:
        for at in range(len(words) - 2, -1, -1):
            if set(words[at : at + 2]) == _SIDES:
                apart = (*words[:at], *words[at + 2 :])
                return tuple(word for word in apart if word in _SIDES or word not in way)
    return tuple(word for word in words if word not in way)


def _doubt(measure: str, place: Place) -> float:
    """What a place that is wanting or contrary takes away: a gap without its leaf, a fixing counted from the top."""
    if (QUANTITIES | NOT_OF.get(measure, set())) & set(place.left):
        return 0.5
    if WHEREABOUTS & set(place.left) and not place.position_mm:
        return 0.5
    if measure in ("fixing", "packer") and FAR_ENDS & {*place.left, place.station}:
        return 0.5
    if measure in LEAF_MEASURES and not place.member:
        # a word that is not understood may say that it is none of a leaf: gap over head
        is_other = measure in LEAF_GAPS and place.left and not place.station
        return 0.3 if is_other else 0.1
    if measure in ("jamb_face", "jamb_edge") and not place.member:
        return 0.3
    if measure in SPREAD and place.left and not place.station and not place.position_mm:
        # a word that is not understood may say where it was read
        return 0.2
    return 0.0


def _check_place(name: str, left: tuple[str, ...], heading: str) -> Place:
    number = next((word for word in left if word.isdecimal() and 1 <= int(word) <= MOST_LEAVES), None)
    rest = tuple(word for word in left if word not in (number, *SAID_OVER_CHECKS))
    is_leaf = number is not None and (name in LEAF_CHECKS or "leaf" in left)
    if number is not None and not is_leaf:
        rest = (*rest, number)
    if is_leaf and name not in LEAF_CHECKS and number not in words_of(heading.rpartition(JOINT)[2]):
        # it stands under a leaf's readings, as the last of the door's
        is_leaf = False
    return Place(member=f"leaf_{number}" if is_leaf else "", left=rest)


def _likeness(words: tuple[str, ...], mine: frozenset[str], way: tuple[str, ...], its: frozenset[str]) -> float:
    """How alike the words of a heading are to a way to write a column; both as sets too, for there are many ways."""
    if words == way:
        return 1.0
    begin_alike = words[:1] != () != way[:1] and words[0][0] == way[0][0]  # without that no word is short for another
    if begin_alike and len(words) == len(way) and all(map(_is_same_or_short, words, way)):
        return _SHORTENED
    if mine == its:
        return 0.95
    if mine.isdisjoint(its) or (mine & other_words()) - its:
        return _alike(words, way) if begin_alike else 0.0
    share = len(mine & its) / len(mine | its)
    return 0.75 * share if its <= mine else 0.5 * share


def _is_same_or_short(one: str, other: str) -> bool:
    return one == other or is_short_for(one, other)


def is_short_for(short: str, word: str) -> bool:
    """Whether a word is the start of a longer one (surv, compl) or its consonants (matrl), of four letters and more."""
    if not _SHORTEST <= len(short) < len(word) or short[0] != word[0] or not short.isalpha():
        return False
    letters = iter(word)
    is_skeleton = not set(short[1:]) & set("aeiou") and all(letter in letters for letter in short)
    return word.startswith(short) or is_skeleton


def _alike(words: tuple[str, ...], way: tuple[str, ...]) -> float:
    """Spelt nearly the same: a slip of the pen in one longer word."""
    one, other = " ".join(words), " ".join(way)
    if min(len(one), len(other)) < 6 or abs(len(one) - len(other)) > 2 or one[0] != other[0]:
        return 0.0
    ratio = SequenceMatcher(None, one, other).ratio()
    return 0.8 * ratio if ratio >= 0.85 else 0.0

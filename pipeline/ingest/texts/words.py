"""Closed words: the lists a cell may come from, whatever its case, blanks or underscores; nothing else is guessed."""

import re
from collections.abc import Iterable

from pipeline.catalogue import Catalogue
from pipeline.errors import nearest
from pipeline.ingest.texts.meanings import Meaning, meant
from pipeline.ingest.texts.not_said import says_nothing

MEMBERS = ("sill", "head", "left_jamb", "right_jamb")
STATIONS = ("rising", "falling", "hinge", "lock", "top", "bottom")
# What a leaf is called behind their number, as a pattern: 4 leaf, 3 panels.
LEAF_WORDS = r"lea(?:f|ves)|lf|panels?|panes?|sash(?:es)?|slabs?"
_LEAF = re.compile(r"leaf_?0*([1-9]\d?)", re.ASCII)

_SAY_WHICH = "; write pass or fail, or say what it means in fitback.toml under [[spelling]], with text and means"
_TWO_MEANINGS = {
    "x": "'{}' can be a tick or a cross" + _SAY_WHICH,
    "false": "'{}' can be a failed check or a box that was left empty" + _SAY_WHICH,
    "0": "'{}' can be a failed check or none at all" + _SAY_WHICH,
    "1": "'{}' can be a tick or a count" + _SAY_WHICH,
    "_": "'{}' can be a check that does not apply, that failed or that was not made" + _SAY_WHICH,
    "☐": "'{}' can be a failed check or none at all" + _SAY_WHICH,
}


# An answer with a remark behind it, or with somebody's initials: N - left jamb only; ✓ JB.
_ANSWERS = r"y|n|yes|no|ok|okay|pass|passed|fail|failed|n/a|na|p|f|done|not done|not ok|✓|✔|✗|✘|☑|✅|❌"
_REMARK = re.compile(
    rf"({_ANSWERS})(?:\s+[-–—:;,(]\s*|[:;,(]\s*|\s+(?=(?-i:[A-Z]{{2,3}})$))(.*\w.*)", re.IGNORECASE | re.DOTALL
)
# A remark with one of these says otherwise, or that it was so for a part or a time.
_OTHERWISE = frozenset({
    "y", "n", "yes", "no", "not", "ok", "okay", "pass", "passed", "fail", "failed", "na", "x", "done", "pending", "tbc",
    "later", "but", "except", "only", "part", "partly", "half", "loose", "missing", "blocked", "broken", "damaged",
    "leak", "leaks", "stiff", "snag", "need", "needs", "redo", "redone", "adjust", "adjusted", "fixed", "rectified",
    "sorted", "corrected", "now", "replaced", "retest", "recheck", "poor", "short", "wrong", "without", "slight",
    "slightly", "nd", "rd", "second", "third", "again", "eventually", "finally",
})  # fmt: skip


# Answers to choose from with a box each, of which one is ticked: ☑ Yes ☐ No, or [x] Yes [ ] No.
_BOX = re.compile(r"(?P<ticked>[☑☒✓✔✅⊠◉]|\[ *[xX✓✔] *\])|[☐□◯]|\[ *\]")


def ticked_in(text: str) -> str | None:
    """The answer whose box is ticked, of several with a box each before or behind them; None where it is not one."""
    boxes = list(_BOX.finditer(text))
    words = [part.strip(" \t\n/|,;") for part in _BOX.sub("\0", text).split("\0")]
    answers = words[1:] if not words[0] else words[:-1]
    is_one_side = not words[0] or not words[-1]
    ticked = [answer for box, answer in zip(boxes, answers, strict=True) if box["ticked"]] if is_one_side else []
    return ticked[0] if len(ticked) == 1 < len(boxes) and all(answers) else None


def answer_in(text: str) -> str | None:
    """The answer that a remark follows, or whose box is ticked; None for none, or where a remark answers as well."""
    if ticked := ticked_in(text):
        return ticked
    found = _REMARK.fullmatch(text.strip())
    says_more = found is not None and bool(
        _OTHERWISE & set(re.findall(r"[a-z]+", found[2].replace("n/a", "na").casefold()))
    )
    return found[1] if found is not None and not says_more else None


def without_decimals(text: str) -> str:
    """A number that names a thing, without the decimals that a program adds to it.

    >>> without_decimals("1042.0"), without_decimals("10.20")
    ('1042', '10.20')
    """
    return re.sub(r"^(\d+)\.0+$", r"\1", text)


def plain(text: str) -> str:
    """A word without what does not count: case, blanks around it, blanks or hyphens for underscores."""
    return re.sub(r"[\s_-]+", "_", text.strip().casefold())


def word_lists(catalogue: Catalogue) -> dict[str, tuple[str, ...]]:
    """Every closed list by name, in the catalogue's own spelling."""
    return {
        "steps": catalogue.steps,
        "faults": tuple(row.name for row in catalogue.faults),
        "measures": tuple(row.name for row in catalogue.measures),
        "checks": tuple(row.name for row in catalogue.checks),
        **{name: catalogue.words[name] for name in ("outcomes", "responsibilities", "works", "colours")},
    }


class WordList:
    """One closed list, ready to judge cells. meanings: of its words, where names alone do not say enough."""

    def __init__(
        self,
        name: str,
        words: tuple[str, ...],
        meanings: dict[str, Meaning] | None = None,
        spellings: Iterable[tuple[str, str]] = (),
    ) -> None:
        """spellings: (text, the word it means); of other lists' words they are passed over."""
        self.name = name
        self.words = words
        self.meanings = meanings or {}
        self._spellings = {plain(text): word for text, word in spellings if word in words}
        self._by_plain = {plain(word): word for word in words}

    def judge(self, text: str) -> tuple[str | None, str | None]:
        """(the list's own spelling, None), or (None, what is wrong with the nearest known words)."""
        word = self._by_plain.get(plain(text)) or self._spellings.get(plain(text))
        if word is None and self.name == "outcomes" and (answer := answer_in(text)):
            return self.judge(answer)
        return (word, None) if word else (None, self._unknown(text))

    def rule(self, text: str) -> str | None:
        """How a text was understood that is another spelling of a word; None where it is the word itself."""
        if self.name == "outcomes" and plain(text) not in self._spellings and (answer := answer_in(text)):
            beside = "its box is ticked" if ticked_in(text) else "with a remark"
            return f"{answer} means {self.judge(answer)[0]}, {beside}"
        parts = [part.strip() for part in text.split(";")]
        meant = {part: self._spellings[plain(part)] for part in parts if plain(part) in self._spellings}
        return "; ".join(f"{part} means {word}" for part, word in meant.items()) or None

    def judge_several(self, text: str) -> tuple[str | None, str | None]:
        """The same for several words split by `;`: all of them are known, or the cell is not taken."""
        words: list[str] = []
        for part in filter(None, (part.strip() for part in text.split(";"))):
            word, problem = self.judge(part)
            if word is None:
                return None, problem
            if word not in words:
                words.append(word)
        return ";".join(words) or None, None

    def _unknown(self, text: str) -> str:
        if plain(text) in _TWO_MEANINGS and self.name == "outcomes":
            return _TWO_MEANINGS[plain(text)].format(text)
        known = list(self.words)
        near = self._near(plain(text))
        shown = near or (known if len(known) <= 8 else [])
        told = [f"{word} ({self.meanings[word].told})" if word in self.meanings else word for word in shown]
        hint = f"; write {any_of(told)}" if told else f"; fitback knows {len(known)} {self.name}, none is near"
        where = "; README lists the words" if self.meanings else ""
        return f"'{text}' is not one of the known {self.name}{hint}{where}"

    def _near(self, text: str) -> list[str]:
        """At most two: a slip of the pen foremost, then what means all that was written, then what is spelt alike."""
        known = list(self.words)
        found = nearest(text, known, cutoff=0.85) or meant(text, self.meanings) or nearest(text, known)
        return found[:2]


def outcome_words(catalogue: Catalogue) -> WordList:
    """What may be said of a check, with the firm's own spellings."""
    return WordList("outcomes", catalogue.words["outcomes"], spellings=catalogue.customs.words)


def any_of(words: list[str]) -> str:
    """`a, b or c`."""
    return f"{', '.join(words[:-1])} or {words[-1]}" if len(words) > 1 else words[0]


def known_place(text: str) -> str | None:
    """A member or station in the trade's own spelling where it is one; any other text as written, if it says any."""
    if says_nothing(text):
        return None
    word = plain(text)
    if word in MEMBERS or word in STATIONS:
        return word
    leaf = _LEAF.fullmatch(word)
    return f"leaf_{leaf[1]}" if leaf else text

"""Captions over whole pages of many firms drawn at random: none claims what the interval of its row does not bear.

No outside reference: each kind of sentence is held against the rows by rules written a second time (told_claims.py).
"""

import ast
import re
from collections.abc import Iterator
from copy import copy
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any

import pytest

import pipeline.report as report
from pipeline.report.sheet import Sheet
from tests.report import claims_of_causes, claims_of_crews, claims_of_limits, claims_of_methods
from tests.report.random_firm import RandomFirm, crew_sheets_of, no_drawings, sheets_of
from tests.report.samples import plain

FIRMS = 40
SHORT = 20  # signs: less is a part of a sentence, and may claim what it is put into
MODULES = (claims_of_causes, claims_of_limits, claims_of_crews, claims_of_methods)
CLAIMS = [(re.compile(pattern), holds) for module in MODULES for pattern, holds in module.CLAIMS]
# What says that one thing is more than another, surely so, or shown.
CLAIMING = re.compile(
    r"\b(more|fewer|less|higher|lower|worse|better|best|worst|most|least|strongest|stronger|weaker|raises?|avoids?|avoided|"
    r"spares?|spared|above|below|apart|often|clearly|surely|stands? out|accounts? for|traced|gain|improve\w*|rise|rose|"
    r"fall|fell|differs?|differently|beyond chance|disagree|agree|missed|holds?)\b",
    re.IGNORECASE,
)


# Counts and names that say `more` or `fewer` of themselves and compare nothing.
COUNTS = re.compile(
    r"Your records hold|On record: [^.]+\.|and \d+ more\b|Record more\.|about [\d,]+ more doors? with it recorded|"
    r"watched for less than one door-year|on [\d ]+ % of [\d,]+ doors? or more|(?<![\d.])\d+ times as often|"
    r"fewer than \d+|in use on most doors|"
    r"watched for [\d,]+ door-years|differently there|"
    r"Record (?:“[^”]+”(?:, | and )?)+ ?[\d]* ?more|no cause with evidence separates a crew from the firm's better half"
)


def texts_of(sheet: Sheet) -> Iterator[str]:
    """All that a page says in sentences."""
    yield from (sheet.headline, sheet.do, *sheet.lead, *sheet.cautions)
    for block in sheet.blocks:
        for name in ("says", "how", "do"):
            yield getattr(block, name, "")
        yield from getattr(block, "paragraphs", ())
        yield from (f"{item.lead} {item.text}" for item in getattr(block, "items", ()))


def said_by(firm: RandomFirm) -> Iterator[tuple[str, str]]:
    """(page, text) of all pages of a firm, the crews' own among them."""
    for sheet in sheets_of(firm):
        for text in texts_of(sheet):
            if text:
                yield sheet.name.file_name, plain(text)
    for crew in crew_sheets_of(firm):
        for item in crew.items:
            yield crew.file_name, plain(item.usually)
            yield crew.file_name, plain(item.why)


@dataclass(frozen=True)
class Said:
    """A text of a page: claims that it makes, by number; sentences that its rows do not bear; what is left of it."""

    page: str
    text: str
    made: frozenset[int]
    wrong: tuple[str, ...]
    rest: str


def held(firm: RandomFirm, page: str, text: str) -> Said:
    """The text, held against the rows of the firm."""
    made, wrong, rest = set(), [], text
    for number, (pattern, holds) in enumerate(CLAIMS):
        for found in pattern.finditer(rest):
            made.add(number)
            if not holds(firm, found.groupdict()):
                wrong.append(found[0])
        if number in made:
            rest = pattern.sub("|", rest)
    return Said(page, text, frozenset(made), tuple(wrong), rest)


@pytest.fixture(scope="module")
def firms() -> list[tuple[RandomFirm, list[Said]]]:
    with no_drawings():
        made = [RandomFirm(seed) for seed in range(FIRMS)]
        return [(firm, [held(firm, *said) for said in dict.fromkeys(said_by(firm))]) for firm in made]


def test_no_caption_contradicts_the_interval_of_the_row_that_it_tells(firms):
    told = [said for _, texts in firms for said in texts]
    assert sorted({(said.page, said.wrong) for said in told if said.wrong}) == []
    # were a kind of sentence never said, it would not have been held
    met = frozenset().union(*(said.made for said in told))
    assert [pattern.pattern for number, (pattern, _) in enumerate(CLAIMS) if number not in met] == []


def test_every_sentence_that_claims_something_is_one_that_is_held(firms):
    fixed = sorted(fixed_sentences(), key=len, reverse=True)
    assert len(fixed) > 100
    left = {COUNTS.sub("|", said.rest) for _, texts in firms for said in texts}
    unknown = [rest for rest in left if CLAIMING.search(rest) and CLAIMING.search(without(rest, fixed))]
    assert unknown == []


def without(text: str, sentences: list[str]) -> str:
    """What of a text is none of the sentences."""
    for sentence in sentences:
        text = text.replace(sentence, "|")
    return text


def test_a_claim_that_the_rows_do_not_bear_is_found(firms):
    found = set()
    for firm, texts in firms[::2]:
        blunt = blunted(firm)
        found |= {number for said in texts for number in said.made - found if not is_borne(blunt, said.text, number)}
    kinds = {number for number, (pattern, _) in enumerate(CLAIMS) if "(?P<i>" in pattern.pattern}
    assert len(found & kinds) > 0.8 * len(kinds)
    assert len(found) > 0.6 * len(CLAIMS)


def is_borne(firm: RandomFirm, text: str, number: int) -> bool:
    """Whether the rows of a firm bear what a text claims in one way."""
    pattern, holds = CLAIMS[number]
    try:
        return all(holds(firm, found.groupdict()) for found in pattern.finditer(text))
    except (LookupError, StopIteration, ValueError):  # the row is not there
        return False


def blunted(firm: RandomFirm) -> RandomFirm:
    """The same firm with every interval over no effect, and nothing found."""
    blunt = copy(firm)
    blunt.rows_by = {kind: [_blunt(row) for row in rows] for kind, rows in firm.rows_by.items()}
    return blunt


def _blunt(row: Any) -> Any:
    wide = dict.fromkeys(_parts(row, "low"), -99.0) | dict.fromkeys(_parts(row, "high"), 199.0)
    words = {"funnel": "inside", "evidence": "none", "verdict": "alike", "advice": "keep", "state": "none"}
    told = {name: word for name, word in words.items() if getattr(row, name, "too_few") != "too_few"}
    return replace(row, **wide, **told)


def _parts(row: Any, end: str) -> list[str]:
    named = [name for name in vars(row) if name == end or name.endswith(f"_{end}") or name.startswith(f"{end}_")]
    return [name for name in named if isinstance(getattr(row, name), float)]


@cache
def fixed_sentences() -> set[str]:
    """What the pages say word for word, whatever the rows are."""
    found = set()
    for path in Path(report.__file__).parent.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                found.add(node.value.strip())
    return {text for text in found if len(text) > SHORT}

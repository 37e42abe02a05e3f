"""No page says of a crew, as a fact, that something is its fault: people read these words in front of each other."""

import re
from html import unescape

import pytest

from pipeline.catalogue import load_catalogue
from tests.report.invented import CREWS
from tests.report.test_pages import Reader

# What would judge people, or put an association as a deed. `fault` alone is a word of the trade: what comes back.
BLAME = re.compile(
    r"\b(blam\w*|guilt\w*|culprit\w*|offend\w*|sloppy|lazy|incompeten\w*|negligen\w*|unskilled|at fault|"
    r"worst (crew|team|fitter)s?|(bad|poor) (crew|work|workmanship)|(his|her) (own )?fault\b|"
    r"fault of (the )?crew|caused by (the )?crew|due to (the )?crew|because of (the )?crew|mistakes? (of|by)|"
    r"fail(s|ed) to|should be (sacked|dismissed|warned)|responsible for)",
    re.IGNORECASE,
)
NAMED = re.compile(rf"\b({'|'.join(CREWS)})\b")
# What a sentence about a named crew never says without an interval: a cause.
CAUSES = re.compile(
    r"\b(causes?|caused|brings about|leads to|is why|are why|careless\w*|bad|poor|worst)\b", re.IGNORECASE
)
# Sentences that say that nobody is to be judged.
DENIALS = ("not bad work",)


def sentences(page: str) -> list[str]:
    """The sentences of a page as it is read, drawings included; none runs over two paragraphs, cells or lines."""
    body = re.sub(r"<(style|script)[^>]*>.*?</\1>", " ", page, flags=re.DOTALL)
    blocks = re.split(r"</?(?:p|li|h\d|td|th|dd|dt|text|title|desc|summary|option|a)\b[^>]*>", body)
    words = [" ".join(unescape(re.sub(r"<[^>]*>", "", block)).split()) for block in blocks]
    return [part for block in words for part in re.split(r"(?<=[.!?])\s+(?=[A-Z0-9])", block) if part]


@pytest.fixture(scope="module")
def said(pages) -> list[tuple[str, str]]:
    return [(name, sentence) for name, page in pages.items() for sentence in sentences(page)]


def test_no_sentence_of_any_page_judges_a_person(said):
    assert len(said) > 500
    found = [(name, BLAME.search(sentence)[0], sentence) for name, sentence in said if BLAME.search(sentence)]
    assert [one for one in found if not any(words in one[2].lower() for words in DENIALS)] == []


def test_no_sentence_that_names_a_crew_calls_it_a_cause(said):
    named = [(name, sentence) for name, sentence in said if NAMED.search(sentence)]
    assert len(named) > 30
    assert [one for one in named if CAUSES.search(one[1])] == []


def test_the_sheets_that_compare_crews_say_what_they_are_not_for(pages):
    assert "never to compare people" in Reader(pages["training"]).text
    assert "not of people" in Reader(pages["owner"]).text
    assert "they are not proof" in Reader(pages["quality"]).text


def test_the_catalogue_speaks_of_the_work_and_not_of_who_did_it():
    catalogue = load_catalogue({})
    rows = (*catalogue.deviations, *catalogue.checks, *catalogue.faults)
    texts = [text for row in rows for text in (row.words, getattr(row, "do", "")) if text]
    assert [text for text in texts if BLAME.search(text)] == []

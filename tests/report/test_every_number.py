"""Every number on a page is in a row that the page asked for, a sum, count or share of such rows, or a fixed sentence.

Left out: the linked sheet, whose numbers its own script makes of a choice (tests/browser/test_explore.py), and the
ticks of axes. What a page may tell besides is declared; counts up to 60 of what a page lists are not told apart.
"""

import re
import tomllib
from html import unescape

import pytest

from pipeline.dictionary import dictionary
from pipeline.report import pages as makers
from pipeline.report.sheet import SHEETS, TitleBlock
from tests.report.given import Given, Watched, numbers_of
from tests.report.intervals import CLAIMS, NUMBER, in_money
from tests.report.invented import invented_tables, write_results
from tests.report.random_firm import no_drawings
from tests.report.test_captions import fixed_sentences

NUMBERS = re.compile(rf"(?<![\w.,−])({NUMBER})")
STUDY = tomllib.loads(CLAIMS.read_text("utf-8"))
EXPLORED = "explore"


def declared(name: str) -> list[float]:
    """What a page tells that no row of the firm holds."""
    if name == "methods":  # the study of strong claims travels with the code
        shares = [STUDY["all"]["false"] / STUDY["all"]["claims"], *(row.get("share", 0.0) for row in STUDY["scenario"])]
        return [*numbers_of([STUDY, STUDY["all"], *STUDY["scenario"]]), *shares]
    if name == "tables":  # headers of the files that make the tables
        return list(numbers_of([{"text": repr(entry)} for entry in dictionary().values()]))
    if name in ("index", "owner"):  # callbacks spared, at what one of them costs; what the last twelve months brought
        last_year = invented_tables()["late_paper"].sort("month").tail(12)["reported"].sum()
        return [last_year, *numbers_of(in_money(invented_tables()["effects"]).rows(named=True))]
    return []


@pytest.fixture(scope="module")
def given(tmp_path_factory) -> dict[str, Given]:
    """What each page was given."""
    results = write_results(tmp_path_factory.mktemp("given") / "results.duckdb", invented_tables())
    found = {}
    with no_drawings(), Watched(results) as opened:
        firm = opened.firm()
        whose = list(opened.asked)
        for make, sheet in zip(makers.MAKERS, SHEETS, strict=True):
            name = sheet.file_name.removesuffix(".html")
            if name != EXPLORED:
                opened.asked = list(whose)
                make(opened, firm, TitleBlock("", "", ""))
                found[name] = Given(opened.asked, declared(name))
    return found


@pytest.fixture(scope="module")
def fixed() -> list[str]:
    """Sentences with numbers that the pages say word for word, the longest first."""
    return sorted(
        (" ".join(text.split()) for text in fixed_sentences() if re.search(r"\d", text)), key=len, reverse=True
    )


def text_of(page: str) -> str:
    """What a reader sees, drawings included but for the ticks of their axes."""
    body = re.sub(r"<(style|script)[^>]*>.*?</\1>", " ", page, flags=re.DOTALL)
    body = re.sub(r'<g class="mark-text role-axis-label".*?</g>', " ", body, flags=re.DOTALL)
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", body)).replace("\N{NO-BREAK SPACE}", " ").split())


def unknown(text: str, given: Given) -> list[str]:
    """The numbers of a text that the page was not given, each with the words around it."""
    return [
        text[max(0, found.start() - 40) : found.end() + 20]
        for found in NUMBERS.finditer(text)
        if not given.has(found[1], text[: found.start()][-6:], text[found.end() :][:12])
    ]


@pytest.mark.parametrize(
    "name", [sheet.file_name.removesuffix(".html") for sheet in SHEETS if EXPLORED not in sheet.file_name]
)
def test_every_number_on_a_page_is_in_what_it_was_given(pages, given, fixed, name):
    text = text_of(pages[name])
    for sentence in fixed:
        text = text.replace(sentence, "|")
    assert len(NUMBERS.findall(text)) > 100
    assert unknown(text, given[name]) == []


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("quality", "about 17.31 (11 to 23) callbacks"),
        ("owner", "EUR 777,000 to date"),
        ("records", "1,234,567 rows"),
        ("training", "31.77 % of its doors"),
    ],
)
def test_a_number_that_a_page_was_not_given_is_found(given, name, said):
    assert len(unknown(said, given[name])) >= 1

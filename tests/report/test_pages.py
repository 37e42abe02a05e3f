"""The pages as files: whole, self-contained, readable by machine and by ear, honest with few data."""

import re
from base64 import b64decode, b64encode
from collections import Counter
from hashlib import sha256
from html.parser import HTMLParser

import polars as pl
import pytest

from pipeline.dictionary import BETWEEN, RESULT, dictionary
from pipeline.export import PUBLISHED
from pipeline.report.explorer import scripts
from pipeline.report.sheet import SHEETS
from tests.report.conftest import Pages
from tests.report.intervals import is_in_a_row, told, told_rows
from tests.report.invented import HOSTILE, invented_tables, weak_steps

NAMES = [name.file_name.removesuffix(".html") for name in SHEETS]
MOST_BYTES = 3_000_000
VOID = {"meta", "link", "br", "img", "input", "hr"}


class Reader(HTMLParser):
    """Collects what a page holds; fails on a tag that is closed out of turn."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.headings: list[int] = []
        self.texts: list[str] = []
        self.feed(page)
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if re.fullmatch(r"h[1-6]", tag):
            self.headings.append(int(tag[1]))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if self.open and self.open[-1] not in ("style", "title", "desc", "script"):
            self.texts.append(data)

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.texts).split())

    def all(self, tag: str) -> list[dict[str, str | None]]:
        return [attributes for name, attributes in self.tags if name == tag]


@pytest.fixture(params=["pages", "few_pages", "hostile_pages"])
def any_pages(request: pytest.FixtureRequest) -> Pages:
    return request.getfixturevalue(request.param)


@pytest.mark.parametrize("name", NAMES)
def test_a_page_is_whole_and_tells_machines_what_it_is(any_pages, name):
    reader = Reader(any_pages[name])
    assert reader.all("html")[0]["lang"] == "en"
    assert len(reader.all("main")) == 1
    assert reader.all("title")
    assert reader.headings[0] == 1
    assert reader.headings.count(1) == 1
    assert all(after - before <= 1 for before, after in zip(reader.headings, reader.headings[1:], strict=False))
    assert any(link.get("class") == "skip" and link["href"] == "#answer" for link in reader.all("a"))


@pytest.mark.parametrize("name", NAMES)
def test_a_page_needs_nothing_from_outside_and_runs_its_own_or_nothing(any_pages, name):
    page = any_pages[name]
    reader = Reader(page)
    ran = [] if name != "explore" or "nothing to choose from" in reader.text else [each.text for each in scripts()]
    assert re.findall(r"<script>(.*?)</script>", page, flags=re.DOTALL) == ran
    assert all(script.get("type") == "application/json" for script in reader.all("script") if script)
    for text in ran:
        # what holds the tag that ends it would end it early; the rule of the page lets no other script run
        assert not re.search(r"</script|<!--", text, flags=re.IGNORECASE)
        assert b64encode(sha256(text.encode()).digest()).decode() in str(reader.all("meta"))
        page = page.replace(text, "")
    assert "default-src 'none'" in str(reader.all("meta"))
    addresses = [value for _, attributes in reader.tags for key, value in attributes.items() if key in ("src", "href")]
    own = {sheet.file_name for sheet in SHEETS} | {f"crews/{crew}.html" for crew in any_pages} | {"crew-sheets.html"}
    assert all(a is not None and (a in own or a.startswith(("#", "data:"))) for a in addresses)
    assert not re.search(r"url\((?!#)|@import", page)
    assert not any(key.startswith("on") for _, attributes in reader.tags for key in attributes)
    assert len(any_pages[name].encode()) < MOST_BYTES


@pytest.mark.parametrize("name", NAMES)
def test_every_id_is_used_once_and_every_reference_finds_its_target(any_pages, name):
    reader = Reader(any_pages[name])
    ids = Counter(attributes["id"] for _, attributes in reader.tags if attributes.get("id"))
    assert [key for key, n in ids.items() if n > 1] == []
    named = [attributes.get("aria-labelledby") for _, attributes in reader.tags if attributes.get("aria-labelledby")]
    referred = [key for words in named for key in str(words).split()]
    referred += re.findall(r"url\(#([\w-]+)\)", any_pages[name])
    assert set(referred) <= set(ids)


@pytest.mark.parametrize("name", NAMES)
def test_drawings_are_named_and_tables_have_headers(any_pages, name):
    reader = Reader(any_pages[name])
    drawings = [svg for svg in reader.all("svg") if svg.get("aria-hidden") != "true"]
    assert all(svg.get("role") == "img" and svg.get("aria-labelledby") for svg in drawings)
    assert len(reader.all("desc")) == len(drawings)
    assert all(header.get("scope") in ("col", "row") for header in reader.all("th"))
    assert len(reader.all("table")) == len(
        [r for r in reader.all("div") if r.get("role") == "region" and r["tabindex"] == "0"]
    )


@pytest.mark.parametrize("name", NAMES)
def test_no_drawing_keeps_a_colour_that_the_dark_sheet_could_not_turn(pages, name):
    page = re.sub(r"<script.*?</script>", "", pages[name], flags=re.DOTALL)
    drawn = "".join(re.findall(r"<svg.*?</svg>", page, flags=re.DOTALL))
    colours = set(re.findall(r'(?:fill|stroke)="([^"]+)"', drawn))
    assert all(colour.startswith(("var(--", "url(#")) or colour in ("none", "transparent") for colour in colours)


def test_hostile_text_shows_as_text(hostile_pages):
    for page in hostile_pages.values():
        reader = Reader(page)
        assert len([script for script in reader.all("script") if not script]) in (0, len(scripts()))
        assert not reader.all("img")
        assert "\u202e" not in page
        assert "{{ 7 * 7 }}" in reader.text
        assert "<script>window.hacked" in reader.text
    assert HOSTILE.startswith("\"'></title><script>")


def test_ten_thousand_signs_in_a_name_do_not_break_a_page(make_page):
    crew = pl.col("crew").replace({"K4": "K4 " + "x" * 10_000})
    page = make_page("training", weak_steps=invented_tables()["weak_steps"].with_columns(crew))
    Reader(page)
    assert all(len(text) < 60 for text in re.findall(r"<text[^>]*>([^<]*)</text>", page))
    spoken = re.findall(r"<(?:h1|h2|p|li)\b[^>]*>(.*?)</(?:h1|h2|p|li)>", page, re.DOTALL)
    assert spoken
    assert all(
        "x" * 61 not in words for words in spoken
    )  # a sentence can still be read; the table has the name in full
    assert "x" * 10_000 in page


def test_the_first_week_of_a_firm_gets_pages_that_say_what_cannot_be_known(few_pages):
    texts = {name: Reader(page).text for name, page in few_pages.items()}
    assert "Begin with the callbacks: 5 doors on record, and no callback log beside them." in texts["index"]
    assert "nothing can be tied to a cause yet" in texts["quality"]
    assert "Nothing is recorded in any step of the work" in texts["training"]
    assert "No callback log came with the records, so no callback rate can be told." in texts["owner"]
    assert "All 5 rows read are in" in texts["records"]
    assert "What to add" in texts["explore"]
    assert "Add callbacks.csv to the records" in texts["explore"]
    assert not re.search(r"\bnan\b|\bNone\b|\binf\b", " ".join(texts.values()))


def test_the_words_stand_for_the_numbers_of_the_tables(pages):
    texts = {name: Reader(page).text.replace("\N{NO-BREAK SPACE}", " ") for name, page in pages.items()}
    tables = invented_tables()
    whole = tables["callback_rates"].filter(pl.col("crew") == "all").row(0, named=True)
    assert f"from {whole['callbacks']} callbacks in {whole['door_years']:,.0f} door-years" in texts["owner"]
    account = (
        tables["intake_account"]
        .select(pl.col("rows_read", "rows_taken_in", "rows_set_aside", "rows_repeated").sum())
        .row(0)
    )
    assert "{:,} taken in + {} set aside + {} exact repeats".format(*account[1:]) in texts["records"]
    assert f"{tables['staged_installs'].height:,} doors of 10 crews" in texts["quality"]
    out = tables["weak_steps"].filter(crew="K4", step="sill").row(0, named=True)
    assert f"its {out['doors']} doors have something out" in texts["training"]


@pytest.mark.parametrize(
    ("name", "table"),
    [("quality", "effects"), ("training", "weak_steps"), ("owner", "callback_rates"), ("records", "set_aside")],
)
def test_the_table_behind_a_figure_can_be_saved_as_it_is(pages, name, table):
    [link] = [a for a in Reader(pages[name]).all("a") if a.get("download") == f"{table}.csv"]
    kind, content = str(link["href"]).split(";base64,")
    assert kind == "data:text/csv;charset=utf-8"
    saved = pl.read_csv(b64decode(content))
    expected = invented_tables()[table]
    assert saved.columns == expected.columns
    assert saved.height == expected.height
    assert f"tables/{table}.csv" in Reader(pages[name]).text


def test_no_personal_cell_reaches_a_page(make_pages):
    aside = invented_tables()["set_aside"]
    personal = aside.with_columns(
        pl.Series("column", ["customer", "address", "postcode", "note"]), value=pl.lit("Secret Lane 5")
    )
    for page in make_pages(set_aside=personal).values():
        assert "Secret Lane" not in page
        assert "Secret Lane" not in "".join(
            b64decode(part).decode() for part in re.findall(r";base64,([A-Za-z0-9+/=]+)", page)
        )


def test_a_firm_of_many_crews_gets_pages_no_longer_than_they_can_be_read(make_page):
    many = [weak_steps(pl_random(seed)).with_columns(pl.col("crew") + f"-{seed}") for seed in range(30)]
    page = make_page("training", weak_steps=pl.concat(many))
    assert len(page.encode()) < MOST_BYTES
    assert "Drawn are 16 of 300 crews" in Reader(page).text


def pl_random(seed: int):
    import numpy as np

    return np.random.default_rng(seed)


def test_the_cautions_stand_on_every_sheet_that_sends_someone_to_a_door(any_pages):
    for name in ("index", "quality", "training"):
        text = Reader(any_pages[name]).text
        assert "not a substitute for the product's instructions" in text
        assert "local building regulations and licensed practice" in text
    for name in ("index", "quality"):
        assert "they are not proof" in Reader(any_pages[name]).text


def test_every_table_that_a_page_offers_is_written_beside_the_pages(pages):
    offered = {a["download"] for page in pages.values() for a in Reader(page).all("a") if a.get("download")}
    assert len(offered) > 15
    # what changed since the last run belongs to no model: it stands in results.duckdb, and its page says so
    assert "stands in results.duckdb" in Reader(pages["methods"]).text or "run_changes.csv" not in offered
    assert offered - {"run_changes.csv"} <= {f"{table}.csv" for table in PUBLISHED}


@pytest.mark.parametrize("name", NAMES)
def test_every_interval_of_a_page_stands_in_a_row_of_a_table(pages, interval_rows, name):
    found = told(Reader(pages[name]).text)
    assert [words for words in sorted(found) if not is_in_a_row(words, interval_rows)] == []
    assert found or name in ("records", "explore", "tables")  # the latter is filled in the browser, and read there


@pytest.fixture(scope="module")
def interval_rows():
    return told_rows(invented_tables())


def test_an_interval_that_no_table_holds_is_noticed(interval_rows):
    assert not is_in_a_row(("123.45", "67.89", "234.56"), interval_rows)
    assert told("about 1,234 % (−1.5 to 2,000) of it") == {("1,234", "−1.5", "2,000")}


def test_the_sheet_of_tables_tells_every_column_of_every_table(pages):
    text = Reader(pages["tables"]).text
    for entry in dictionary().values():
        if entry.kind in (RESULT, BETWEEN):
            assert f"{entry.name}: " in text
            assert all(column.meaning.replace("  ", " ") in text.replace("\xa0", " ") for column in entry.columns)

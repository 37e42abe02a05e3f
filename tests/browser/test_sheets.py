"""Opens each sheet from disk in a real browser, and clicks and reads it as its readers would."""

import re
from importlib.resources import files
from pathlib import Path

import pytest

from pipeline.report.sheet import SHEETS
from tests.report.invented import invented_tables

pytestmark = pytest.mark.browser
NAMES = [name.file_name.removesuffix(".html") for name in SHEETS]
CONTRAST = (Path(__file__).parent / "contrast.js").read_text(encoding="utf-8")
HEADLINES = {
    "index": "Begin here: pack the glass from the bottom hinge corner to the top lock corner on every leaf.",
    "quality": "Three causes stand out, first “toe and heel missing or on the wrong diagonal”: about 19 (14 to 24)",
    "training": "Begin with crew K4 in the sill step:",
    "owner": "Next twelve months: 430 (360 to 490) callbacks, EUR 98,000 (82,000 to 117,000).",
    "records": "125 rows wait to be mended, under 1 % of 87,251 rows read:",
    "explore": "The whole firm: ",
    "tables": "Every number here stands in one of ",
    "methods": "Four of 5 findings hold in every other way of looking; one does not.",
}


def headline(opened) -> str:
    return opened.page.locator("h1").inner_text().replace("\N{NO-BREAK SPACE}", " ")


@pytest.mark.parametrize("firm", ["firm", "few", "hostile"])
@pytest.mark.parametrize("name", NAMES)
def test_a_sheet_opens_from_disk_without_network_or_complaint(open_page, name, firm):
    opened = open_page(name, firm)
    assert opened.complaints == []
    assert all(url.startswith(("file:", "data:")) for url in opened.requests)
    assert opened.page.evaluate("window.hacked") is None
    assert opened.page.locator("h1").count() == 1


@pytest.mark.parametrize("name", NAMES)
def test_the_answer_is_the_first_thing_read(open_page, name):
    opened = open_page(name)
    assert headline(opened).startswith(HEADLINES[name])
    assert opened.page.locator("h1").bounding_box()["y"] < 120


def test_next_sheet_leads_through_all_of_them_and_back(open_page):
    opened = open_page("index")
    seen = []
    for _ in SHEETS:
        opened.page.get_by_role("contentinfo").get_by_role("link").click()
        seen.append(opened.page.locator("[aria-current=page]").inner_text())
    assert seen == [f"{name.number} {name.name}" for name in (*SHEETS[1:], SHEETS[0])]


def test_the_letter_leads_to_the_sheet_behind_each_answer(open_page):
    opened = open_page("index")
    for number, name in enumerate(NAMES[1:], start=2):
        opened.page.get_by_role("link", name=f"Sheet {number}", exact=True).click()
        assert headline(opened).startswith(HEADLINES[name])
        opened.page.go_back()
    opened.page.get_by_role("link", name="Why").first.click()
    assert headline(opened).startswith(HEADLINES["quality"])


def test_the_table_behind_opens_by_keyboard_and_reads_in_full(open_page):
    opened = open_page("training")
    summary = opened.page.locator("summary", has_text="70 crews in")
    assert not opened.page.get_by_role("table").is_visible()
    summary.focus()
    opened.page.keyboard.press("Enter")
    row = opened.page.get_by_role("row").filter(has=opened.page.get_by_role("rowheader", name="K4", exact=True)).first
    assert row.get_by_role("cell").all_inner_texts()[0] == "sill"
    assert "more often out" in row.inner_text()


@pytest.mark.parametrize(
    ("name", "table"),
    [
        ("quality", "effects"), ("quality", "example_doors"), ("training", "weak_steps"), ("owner", "callback_rates"),
        ("records", "intake_account"), ("explore", "explore_time"),
    ],
)  # fmt: skip
def test_a_table_is_saved_by_a_click(open_page, name, table):
    opened = open_page(name, accept_downloads=True)
    with opened.page.expect_download() as started:
        opened.page.get_by_role("link", name=f"Save {table}.csv").click()
    assert started.value.suggested_filename == f"{table}.csv"
    lines = Path(started.value.path()).read_text(encoding="utf-8").splitlines()
    frame = invented_tables()[table]
    assert lines[0].split(",") == frame.columns
    assert len(lines) == frame.height + 1


@pytest.mark.parametrize("width", [360, 640, 1280])
@pytest.mark.parametrize("firm", ["firm", "hostile"])
@pytest.mark.parametrize("name", NAMES)
def test_nothing_runs_off_the_screen(open_page, name, firm, width):
    # 640 pixels is a 1280 screen at 200 per cent (WCAG 2.2, 1.4.4), 360 a phone.
    opened = open_page(name, firm, width)
    assert opened.page.evaluate("document.documentElement.scrollWidth") <= width
    outside = opened.page.evaluate(
        """() => [...document.querySelectorAll('svg text')]
            .map((text) => [text.textContent, text.getBoundingClientRect()])
            .filter(([, box]) => box.width && (box.left < 0 || box.right > window.innerWidth))
            .map(([words]) => words)"""
    )
    assert outside == []


@pytest.mark.parametrize(("width", "shown", "hidden"), [(360, "narrow", "wide"), (1280, "wide", "narrow")])
def test_the_drawing_fits_the_screen_it_is_drawn_for(open_page, width, shown, hidden):
    opened = open_page("quality", width=width)
    assert opened.page.locator(f".drawing .{shown}").first.is_visible()
    assert not opened.page.locator(f".drawing .{hidden}").first.is_visible()
    smallest = opened.page.locator(f".drawing .{shown} svg").first.evaluate(
        "(svg) => 12 * svg.getBoundingClientRect().width / svg.viewBox.baseVal.width"
    )
    assert smallest >= 10.5


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("name", NAMES)
def test_every_word_stands_out_from_its_ground(open_page, name, scheme):
    opened = open_page(name, scheme=scheme)
    opened.page.evaluate("document.querySelectorAll('details').forEach((table) => { table.open = true; })")
    assert opened.page.evaluate(CONTRAST) == []


def test_the_dark_sheet_turns_drawings_too(open_page):
    def pencil(scheme: str) -> str:
        svg_text = open_page("owner", scheme=scheme).page.locator(".drawing .wide svg text").last
        return svg_text.evaluate("(text) => getComputedStyle(text).fill")

    assert pencil("light") == "rgb(29, 43, 58)"
    assert pencil("dark") == "rgb(232, 237, 242)"


def test_the_first_tab_skips_to_the_answer(open_page):
    opened = open_page("quality")
    opened.page.keyboard.press("Tab")
    skip = opened.page.get_by_role("link", name="Skip to the answer")
    assert skip.evaluate("(link) => link === document.activeElement && link.getBoundingClientRect().left >= 0")
    opened.page.keyboard.press("Enter")
    assert opened.page.evaluate("document.activeElement.id") == "answer"


def test_every_stop_of_the_keyboard_is_seen(open_page):
    opened = open_page("records")
    for _ in range(12):
        opened.page.keyboard.press("Tab")
        width = opened.page.evaluate("parseFloat(getComputedStyle(document.activeElement).outlineWidth)")
        assert width >= 2


@pytest.mark.parametrize("name", NAMES)
def test_a_sheet_prints_whole_on_a4_with_its_title_block(open_page, name):
    opened = open_page(name, width=718)  # A4 less its margins: 190 mm at 96 pixels an inch
    opened.page.emulate_media(media="print")
    assert opened.page.evaluate("document.documentElement.scrollWidth") <= 718
    assert opened.page.locator(".title-block").evaluate("(block) => getComputedStyle(block).position") == "fixed"
    assert not opened.page.locator(".sheets").is_visible()
    cut = opened.page.evaluate(
        """() => [...document.querySelectorAll('.title-block dd')].filter((cell) => {
            const foot = cell.closest('.title-block').getBoundingClientRect().bottom;
            return cell.getBoundingClientRect().bottom > foot + 1;
        }).map((cell) => cell.textContent)"""
    )
    assert cut == []
    printed = opened.page.pdf(prefer_css_page_size=True, print_background=True)
    n_pages = len(re.findall(rb"/Type\s*/Page\b", printed))
    assert n_pages == 1 if name == "index" else 1 < n_pages <= 7
    assert b"/MediaBox [0 0 595" in printed or b"/MediaBox [0 0 594" in printed


@pytest.mark.parametrize("key", ["checks", "expectations", "advice"])
def test_a_long_table_ends_early_on_paper_and_says_so(open_page, key):
    page = open_page("quality" if key == "advice" else "records", width=718).page
    table = page.locator(f"section:has(> details > summary > #{key})")
    rows, told = table.locator("tbody tr"), table.locator(".on-paper")
    n_rows = rows.count()
    assert all(row.is_visible() for row in rows.all())
    assert not told.is_visible() if told.count() else True
    page.emulate_media(media="print")
    n_printed = sum(row.is_visible() for row in rows.all())
    assert 0 < n_printed <= n_rows
    assert told.count() == (n_printed < n_rows)
    if told.count():
        assert told.inner_text().startswith(f"On paper stand the first {n_printed} of {n_rows} lines")


def test_every_line_that_asks_for_something_is_on_paper(open_page):
    page = open_page("records", width=718).page
    page.emulate_media(media="print")
    rows = page.locator("[role=region][aria-labelledby=expectations] tbody tr")
    asking = [row for row in rows.all() if row.locator("td").last.text_content() != "met"]
    assert asking
    assert all(row.is_visible() for row in asking)
    moved = open_page("quality", width=718).page
    moved.emulate_media(media="print")
    advice = moved.locator("[role=region][aria-labelledby=advice] tbody tr")
    assert all(row.is_visible() for row in advice.all() if not row.locator("td").last.text_content().startswith("keep"))


def test_where_a_closed_table_lies_stands_beside_its_name_on_paper(open_page):
    page = open_page("owner", width=718).page
    page.emulate_media(media="print")
    closed = page.locator(".behind:has(.download):not(:has(details[open]))")
    assert closed.count()
    for table in closed.all():
        name, lies = table.locator("h2").bounding_box(), table.locator(".download").bounding_box()
        assert lies["x"] >= name["x"] + name["width"]
        assert lies["y"] < name["y"] + name["height"]


@pytest.mark.parametrize("key", ["account", "checks"])
def test_an_open_table_shows_every_cell_with_its_heading_on_a_phone(open_page, key):
    region = open_page("records", width=360).page.locator(f"[role=region][aria-labelledby={key}]")
    hidden = region.evaluate(
        """(region) => [...region.querySelectorAll('tbody td')].filter((cell) => {
            const box = cell.getBoundingClientRect();
            const isNamed = getComputedStyle(cell, '::before').content === JSON.stringify(cell.dataset.label);
            return !isNamed || !box.height || box.left < 0 || box.right > window.innerWidth;
        }).map((cell) => cell.textContent)"""
    )
    assert hidden == []
    assert region.evaluate("(region) => region.scrollHeight <= region.clientHeight + 1")
    assert region.evaluate("(region) => region.scrollWidth <= region.clientWidth + 1")


@pytest.mark.parametrize("name", NAMES)
def test_no_drawing_is_taller_than_its_printed_page_and_headings_keep_with_what_follows(open_page, name):
    opened = open_page(name, width=718)
    opened.page.emulate_media(media="print")
    # 252 mm of an A4 page lie between head and title block; a view, words and drawing, is never broken.
    heights = "(views) => views.map((view) => view.getBoundingClientRect().height * 25.4 / 96)"
    assert all(height < 252 for height in opened.page.locator(".view").evaluate_all(heights))
    displays = "(views) => views.map((view) => getComputedStyle(view).breakInside)"
    assert set(opened.page.locator(".view, .passage").evaluate_all(displays)) <= {"avoid"}


def test_a_drawing_of_very_many_rows_still_prints_on_one_page(open_page):
    opened = open_page("records", width=718)
    opened.page.emulate_media(media="print")
    svg = opened.page.locator("[aria-labelledby=recorded] .wide svg")
    svg.evaluate("(svg) => { svg.setAttribute('height', 4000); svg.setAttribute('viewBox', '0 0 720 4000'); }")
    assert svg.evaluate("(svg) => svg.getBoundingClientRect().height * 25.4 / 96") <= 225.5


@pytest.mark.parametrize("name", ["quality", "training"])
def test_headline_and_first_drawing_share_the_first_printed_page(open_page, name):
    opened = open_page(name, width=718)
    opened.page.emulate_media(media="print")
    foot = opened.page.locator(".view").first.evaluate(
        "(view) => (view.getBoundingClientRect().bottom - document.querySelector('h1').getBoundingClientRect().top)"
    )
    assert foot * 25.4 / 96 < 252


# How large the smallest letters of each drawing are on paper, in points; a drawing keeps its shape, whatever its box.
LETTERS = """() => [...document.querySelectorAll('.view .drawing .wide svg')].map((svg) => {
    const box = svg.getBoundingClientRect(), whole = svg.viewBox.baseVal;
    const shrunk = Math.min(box.width / whole.width, box.height / whole.height);
    const letters = [...svg.querySelectorAll('text')].map((text) => parseFloat(getComputedStyle(text).fontSize));
    return box.width ? 0.75 * shrunk * Math.min(...letters) : 99;
})"""


@pytest.mark.parametrize("name", [name for name in NAMES if name != "explore"])
def test_the_letters_of_a_drawing_can_be_read_on_paper(open_page, name):
    page = open_page(name, width=718).page
    page.emulate_media(media="print")
    sizes = page.evaluate(LETTERS)
    assert sizes
    assert min(sizes) > 5.5


def test_on_paper_the_heading_of_a_drawing_goes_across_and_its_words_stand_beside_it(open_page):
    page = open_page("training", width=718).page
    page.emulate_media(media="print")
    for view in page.locator(".view").all():
        parts = ("h2", ".drawing", ".do", ".how")
        heading, drawing, act, how = (view.locator(part).first.bounding_box() for part in parts)
        assert heading["y"] + heading["height"] <= drawing["y"] + 1
        assert act["x"] + act["width"] <= drawing["x"]
        assert abs(act["y"] - drawing["y"]) < 12
        assert how["y"] >= act["y"] + act["height"] - 1


# Words of a drawing that stick out of their view at either side.
STICKING_OUT = """() => [...document.querySelectorAll('.view .drawing text')].filter((text) => {
    const box = text.getBoundingClientRect(), view = text.closest('.view').getBoundingClientRect();
    return box.width && (box.left < view.left - 1 || box.right > view.right + 1);
}).map((text) => text.textContent)"""


@pytest.mark.parametrize("width", [360, 768, 1280])
@pytest.mark.parametrize("name", NAMES)
def test_no_words_of_a_drawing_stick_out_of_their_view(open_page, name, width):
    assert open_page(name, width=width).page.evaluate(STICKING_OUT) == []


def test_on_a_phone_a_drawing_comes_before_how_to_read_it(open_page):
    page = open_page("owner", width=360).page
    for view in page.locator(".view").all():
        tops = [view.locator(part).first.bounding_box()["y"] for part in ("h2", ".drawing", ".how")]
        assert tops == sorted(tops)


def test_at_a_desk_how_to_read_a_drawing_stands_under_its_words_beside_it(open_page):
    page = open_page("owner", width=1280).page
    for view in page.locator(".view").all():
        caption, drawing, how = (view.locator(part).first.bounding_box() for part in (".caption", ".drawing", ".how"))
        assert abs(how["x"] - caption["x"]) < 1
        assert abs(how["y"] - caption["y"] - caption["height"]) < 2
        assert drawing["x"] >= how["x"] + how["width"]
        assert drawing["y"] < caption["y"] + 30


def test_on_paper_a_long_explanation_goes_on_under_its_drawing_and_over_none_of_it(open_page):
    page = open_page("owner", width=718).page
    page.emulate_media(media="print")
    lines = """(view) => {
        const range = document.createRange(), drawing = view.querySelector('.drawing').getBoundingClientRect();
        range.selectNodeContents(view.querySelector('.how'));
        return [...range.getClientRects()].map((line) => ({
            isUnder: line.top >= drawing.bottom - 1, isOver: line.top < drawing.bottom - 1 && line.right > drawing.left,
            share: line.width / view.clientWidth,
        }));
    }"""
    told = [line for view in page.locator(".view").all() for line in view.evaluate(lines)]
    assert not any(line["isOver"] for line in told)
    assert any(line["isUnder"] and line["share"] > 0.6 for line in told)


def test_on_a_phone_a_cell_with_nothing_in_it_takes_no_line(open_page):
    page = open_page("quality", width=360).page
    cells = page.locator(".stacks td")
    empty = [cell for cell in cells.all() if not cell.text_content().strip()]
    assert empty
    assert not any(cell.is_visible() for cell in empty)


# What lies within a drawing is one picture to those who hear the page; its contrast is looked at above.
AXE_LOOK = """(rules) => axe.run({ exclude: ['.drawing svg > *'] },
    { runOnly: { type: 'tag', values: rules }, resultTypes: ['violations'] })"""
AXE_RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]


def axe_findings(page) -> list[str]:
    """What axe-core says against a page, with the first element it says it of."""
    page.evaluate((files("axe_playwright_python") / "axe.min.js").read_text(encoding="utf-8"))
    found = page.evaluate(AXE_LOOK, AXE_RULES)["violations"]
    return [f"{each['impact']} {each['id']}: {each['nodes'][0]['html'][:200]}" for each in found]


# On a phone only what stands on the page by itself differs: the letter, an open table, the controls.
@pytest.mark.parametrize(
    ("name", "width"),
    [*((name, 1280) for name in (*NAMES, "crew-sheets")), ("index", 360), ("records", 360), ("explore", 360)],
)
def test_axe_finds_nothing_on_a_sheet(open_page, name, width):
    assert axe_findings(open_page(name, width=width).page) == []


@pytest.mark.parametrize("name", ["records", "explore"])
def test_axe_finds_nothing_in_tables_that_were_opened(open_page, name):
    page = open_page(name).page
    page.evaluate("document.querySelectorAll('details').forEach((table) => { table.open = true; })")
    assert axe_findings(page) == []


def test_axe_sees_what_is_wrong(open_page):
    page = open_page("index").page
    page.evaluate("document.querySelector('.drawing svg').removeAttribute('aria-labelledby')")
    page.evaluate("document.querySelectorAll('.drawing svg title').forEach((title) => title.remove())")
    assert any("svg-img-alt" in finding for finding in axe_findings(page))

"""The crews' sheets in a real browser: one page of A4 each, nothing cut, readable on a phone."""

import re

import pytest

HIDDEN = """() => [...document.querySelectorAll('.crew-sheet')].filter((sheet) => {
    const frame = sheet.getBoundingClientRect();
    return [...sheet.querySelectorAll('p, h1, h2, h3, svg, dd')].some((part) => {
        const box = part.getBoundingClientRect();
        return box.bottom > frame.bottom + 1 || box.right > frame.right + 1;
    });
}).map((sheet) => sheet.querySelector('.whose').textContent)"""
OVERLAPS = """() => [...document.querySelectorAll('.crew-sheet')].filter((sheet) => {
    const parts = [...sheet.children];
    return parts.slice(1).some((part, n) =>
        part.getBoundingClientRect().top < parts[n].getBoundingClientRect().bottom - 1);
}).map((sheet) => sheet.querySelector('.whose').textContent)"""


@pytest.mark.parametrize(("firm", "sheets"), [("firm", 10), ("few", 1), ("hostile", 10)])
def test_every_sheet_is_one_page_of_a4_with_nothing_cut(open_page, firm, sheets):
    page = open_page("crew-sheets", firm, width=718).page
    printed = page.pdf(prefer_css_page_size=True, print_background=True)
    assert len(re.findall(rb"/Type\s*/Page\b", printed)) == sheets
    page.emulate_media(media="print")
    assert page.evaluate(HIDDEN) == []
    assert page.evaluate(OVERLAPS) == []


@pytest.mark.parametrize("width", [360, 1280])
def test_a_sheet_is_read_without_scrolling_aside_and_complains_of_nothing(open_page, width):
    opened = open_page("crews/k1", width=width)
    assert opened.complaints == []
    assert opened.page.evaluate("() => document.documentElement.scrollWidth <= window.innerWidth")
    opened.page.get_by_role("link", name="Weak steps").click()
    assert opened.page.url.endswith("training.html")
    opened.page.get_by_role("link", name="all sheets").click()
    assert opened.page.url.endswith("crew-sheets.html")

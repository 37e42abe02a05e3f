"""The blank record sheet in a real browser: on paper, on a phone, with a name that means harm."""

from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser

from pipeline.sheets.door import door_of
from pipeline.sheets.write import write_sheets
from tests.browser.conftest import Opened

SIZES = [((4200, 2100), 4), ((700, 2000), 1), ((12_000, 3000), 12)]


@pytest.mark.parametrize(("size", "leaves"), SIZES)
@pytest.mark.parametrize("width", [375, 1280])
def test_no_sheet_is_wider_than_its_screen(
    browser: Browser, tmp_path: Path, size: tuple[int, int], leaves: int, width: int
) -> None:
    blank = write_sheets(door_of(*size, leaves), tmp_path, "", None)
    viewport: Any = {"width": width, "height": 900}
    with browser.new_context(viewport=viewport, offline=True) as context:
        opened = Opened(context, blank.page)
        assert opened.page.evaluate("document.documentElement.scrollWidth") <= width
        assert opened.complaints == []
        assert opened.requests == [blank.page.as_uri()]


def test_every_line_has_its_box_and_every_caution_its_place(browser: Browser, tmp_path: Path) -> None:
    blank = write_sheets(door_of(4200, 2100, 4), tmp_path, "", None)
    with browser.new_context(offline=True) as context:
        page = Opened(context, blank.page).page
        numbers = page.locator(".row li > small").all_inner_texts()
        assert numbers == [str(number) for number in range(1, blank.n_readings + 1)]
        assert page.locator(".tick").count() == blank.n_checks
        assert page.locator("section.step", has=page.locator(".caution")).count() == 4
        assert page.locator("svg.door .fixing").count() == 2 * 24  # the drawing for a desk, and that for a phone


def test_no_reading_is_cut_by_the_end_of_a_page(browser: Browser, tmp_path: Path) -> None:
    blank = write_sheets(door_of(4200, 2100, 4), tmp_path, "", None)
    with browser.new_context(offline=True) as context:
        page = Opened(context, blank.page).page
        page.emulate_media(media="print")
        kept = page.locator(".reading, .caution, .step .drawing")
        assert set(kept.evaluate_all("all => all.map(one => getComputedStyle(one).breakInside)")) == {"avoid"}
        pages = page.pdf(prefer_css_page_size=True).count(b"/Type /Page\n")
        assert 5 <= pages <= 8


def test_a_name_that_means_harm_is_text(browser: Browser, tmp_path: Path) -> None:
    name = "<img src=x onerror=alert(1)>"
    blank = write_sheets(door_of(4200, 2100, 4), tmp_path, name, None)
    with browser.new_context(offline=True) as context:
        opened = Opened(context, blank.page)
        assert name in opened.page.locator(".title-block").inner_text()
        assert opened.page.locator("img").count() == 0
        assert opened.complaints == []

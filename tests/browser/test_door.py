"""A door's sheet in a real browser: on a phone, a desk and paper, in the light and the dark, whatever the door."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext

from pipeline.door.sheet import render, sheet_of
from pipeline.door.trail import DoorTrail
from tests.browser.conftest import Opened
from tests.door.rows import HOSTILE, full, trail

pytestmark = pytest.mark.browser
CONTRAST = (Path(__file__).parent / "contrast.js").read_text(encoding="utf-8")
DOORS: dict[str, DoorTrail] = {
    "one leaf": full(1), "two leaves": full(2), "three": full(3), "five": full(5), "seven": full(7), "twelve": full(12),
    "far off": full(4, error=60.0), "hardly off": full(4, error=0.1), "bare": trail(),
    "no size": trail(facts={"width_mm": None, "height_mm": None, "leaves": None}),
    "hostile": full(3, install_id=HOSTILE * 20, crew=HOSTILE * 20, firm=HOSTILE * 20, product=HOSTILE),
}  # fmt: skip
ON_A_DESK = ("one leaf", "seven", "twelve", "far off", "hostile")
# Words of a drawing that stand beyond its edges, by more than a rim.
CUT = """() => {
  const seen = [...document.querySelectorAll('.drawing svg')].filter((svg) => svg.getClientRects().length);
  return seen.flatMap((svg) => {
  const paper = svg.getBoundingClientRect();
  return [...svg.querySelectorAll('text')].filter((text) => {
    const box = text.getBoundingClientRect();
    return box.left < paper.left - 3 || box.right > paper.right + 3
      || box.top < paper.top - 3 || box.bottom > paper.bottom + 3;
  }).map((text) => text.textContent);
  });
}"""


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    folder = tmp_path_factory.mktemp("doors")
    found = {name: folder / f"{number}.html" for number, name in enumerate(DOORS)}
    for name, path in found.items():
        path.write_text(render(sheet_of(DOORS[name])), encoding="utf-8")
    return found


@pytest.fixture(scope="module")
def contexts(browser: Browser) -> Iterator[dict[int, BrowserContext]]:
    made = {width: browser.new_context(viewport=_size(width), offline=True) for width in (360, 1280)}
    yield made
    for context in made.values():
        context.close()


def _size(width: int) -> Any:
    return {"width": width, "height": 900}


@pytest.mark.parametrize(("width", "name"), [*((360, name) for name in DOORS), *((1280, name) for name in ON_A_DESK)])
def test_a_sheet_fits_its_screen_and_complains_of_nothing(
    contexts: dict[int, BrowserContext], pages: dict[str, Path], width: int, name: str
) -> None:
    opened = Opened(contexts[width], pages[name])
    assert opened.page.evaluate("document.documentElement.scrollWidth") <= width
    assert opened.complaints == []
    assert opened.requests == [pages[name].as_uri()]
    assert opened.page.evaluate(CUT) == []
    assert opened.page.locator("img").count() == 0
    opened.page.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_every_word_stands_out_from_its_ground(browser: Browser, pages: dict[str, Path], scheme: Any) -> None:
    with browser.new_context(color_scheme=scheme, offline=True) as context:
        opened = Opened(context, pages["five"])
        opened.page.evaluate("document.querySelectorAll('details').forEach((table) => { table.open = true; })")
        assert opened.page.evaluate(CONTRAST) == []


def test_a_drawing_and_its_words_stay_on_one_page_of_a4(browser: Browser, pages: dict[str, Path]) -> None:
    with browser.new_context(offline=True) as context:
        page = Opened(context, pages["five"]).page
        page.emulate_media(media="print")
        breaks = page.locator("section.view").evaluate_all("all => all.map((one) => getComputedStyle(one).breakInside)")
        assert set(breaks) == {"avoid"}
        # 10 mm margins, and the title block on every page: what is left of A4 is 277 - 25 mm
        heights = page.locator("section.view").evaluate_all(
            "all => all.map((one) => one.getBoundingClientRect().height)"
        )
        assert max(heights) <= 252 / 25.4 * 96
        assert page.pdf(prefer_css_page_size=True).count(b"/Type /Page\n") <= 4


def test_tables_open_by_keyboard(browser: Browser, pages: dict[str, Path]) -> None:
    with browser.new_context(offline=True) as context:
        page = Opened(context, pages["five"]).page
        readings = page.locator("details", has_text="which count")
        readings.locator("summary").focus()
        page.keyboard.press("Enter")
        assert readings.get_attribute("open") is not None
        assert "readings.csv, row 2" in readings.inner_text()

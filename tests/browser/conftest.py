"""A real Chromium without a network, and the invented firm's pages on disk."""

import os
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright

from tests.report.conftest import hostile_tables, pages_made
from tests.report.invented import few_tables, invented_tables

CHROMIUM = os.environ.get("FITBACK_CHROMIUM") or "/usr/bin/chromium"
FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield started
        started.close()


@pytest.fixture(scope="session")
def folders(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Folders of pages: of the invented firm, of a firm in its first week, of one with hostile names."""
    firms = {"firm": invented_tables, "few": few_tables, "hostile": hostile_tables}
    return {name: pages_made(tmp_path_factory, name, tables) for name, tables in firms.items()}


class Opened:
    """A page open from disk, with what it complained of and what it asked the network for."""

    def __init__(self, context: BrowserContext, path: Path) -> None:
        self.complaints: list[str] = []
        self.requests: list[str] = []
        self.page: Page = context.new_page()
        self.page.on("console", lambda message: self.complaints.append(message.text))
        self.page.on("pageerror", lambda error: self.complaints.append(str(error)))
        self.page.on("request", lambda request: self.requests.append(request.url))
        self.page.goto(path.as_uri())


@pytest.fixture
def open_page(browser: Browser, folders: dict[str, Path]) -> Iterator[Callable[..., Opened]]:
    """Opens a sheet of a firm at a width, in the light or the dark, the network off."""
    contexts: list[BrowserContext] = []

    def opened(name: str, firm: str = "firm", width: int = 1280, scheme: Any = "light", **more: Any) -> Opened:
        viewport: Any = {"width": width, "height": 900}
        contexts.append(browser.new_context(viewport=viewport, color_scheme=scheme, offline=True, **more))
        found = Opened(contexts[-1], folders[firm] / f"{name}.html")
        if found.page.locator("#explored").count():  # the linked sheet draws itself
            found.page.wait_for_function("document.body.dataset.drawn")
        return found

    yield opened
    for context in contexts:
        context.close()

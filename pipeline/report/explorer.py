"""What the linked sheet holds beside words, as data for its template: its controls, its views, and what it runs."""

import json
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from functools import cache

import vl_convert
from markupsafe import Markup

from pipeline.report.sheet import Download, Script
from pipeline.report.templating import text_beside_templates


@dataclass(frozen=True)
class Control:
    """One thing to choose. options: value and words; chosen: the value it begins with."""

    key: str
    label: str
    options: tuple[tuple[str, str], ...]
    chosen: str = ""


@dataclass(frozen=True)
class View:
    """One drawing that follows the choice: its words that stay, the columns of its table, its chart in two forms."""

    key: str
    title: str
    how: str
    do: str
    columns: tuple[str, ...]
    wide: Markup
    narrow: Markup


@dataclass(frozen=True)
class Explorer:
    """The choice and all that follows it. cells: the sums, as JSON."""

    controls: tuple[Control, ...]
    views: tuple[View, ...]
    cells: Markup
    downloads: tuple[Download, ...]
    kind: str = "explorer"


def as_markup(content: object) -> Markup:
    """JSON that may stand in a script element, whatever text it holds."""
    text = content if isinstance(content, str) else json.dumps(content, separators=(",", ":"))
    return Markup(text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026"))


@cache
def library() -> Future[str]:
    """The drawings' library, being put together: that takes a second or two, but a core of its own."""
    pool = ThreadPoolExecutor(1)
    making = pool.submit(vl_convert.javascript_bundle)  # type: ignore[call-arg]  # its types ask for a snippet
    pool.shutdown(wait=False)
    return making


@cache
def scripts() -> tuple[Script, ...]:
    """What the linked sheet runs: the drawings' library, once, and its own script."""
    return Script(library().result()), Script(text_beside_templates("pipeline.report", "explore.js"))

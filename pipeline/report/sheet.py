"""A sheet: what stands on one page, as data, and its rendering to one self-contained HTML file.

Every text is escaped by the template; the only markup taken in unchanged are our own drawings.
"""

from base64 import b64encode
from dataclasses import dataclass, field
from hashlib import sha256
from typing import Protocol

from markupsafe import Markup

from pipeline.report.drawing.drawn import Drawing
from pipeline.report.templating import page_from


@dataclass(frozen=True)
class Figure:
    """One drawing and its caption. says: what it shows, with numbers; how: how to read it; do: what follows.

    is_printed: whether it stands on paper too.
    """

    key: str
    says: str
    how: str
    drawing: Drawing
    do: str = ""
    is_printed: bool = True
    kind: str = "figure"


@dataclass(frozen=True)
class Table:
    """Rows behind the figures. numeric: the columns set flush right; a closed table opens at a click.

    printed: how many of its rows stand on paper, the first; None for all of them.
    """

    key: str
    says: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    how: str = ""
    numeric: frozenset[int] = frozenset()
    download: "Download | None" = None
    is_open: bool = False
    printed: int | None = None
    kind: str = "table"

    @property
    def on_paper(self) -> str:
        """What paper says of the rows that it leaves out; empty where it has all of them."""
        if self.printed is None or len(self.rows) <= self.printed:
            return ""
        return f"On paper stand the first {self.printed} of {len(self.rows):,} lines; the page on a screen has all."


@dataclass(frozen=True)
class Download:
    """A table to save. href: a data URI, or empty where the file beside the pages is the better place."""

    file_name: str
    href: str
    words: str


@dataclass(frozen=True)
class Passage:
    """A heading and paragraphs. on_paper: what only paper says, of what it leaves out."""

    key: str
    says: str
    paragraphs: tuple[str, ...]
    on_paper: str = ""
    kind: str = "passage"


@dataclass(frozen=True)
class Item:
    """One point of a list. lead: its first words, set strong; href: the sheet it leads to."""

    text: str
    lead: str = ""
    href: str = ""
    link: str = ""


@dataclass(frozen=True)
class Listing:
    """A heading and points, numbered where their order matters."""

    key: str
    says: str
    items: tuple[Item, ...]
    how: str = ""
    is_numbered: bool = False
    kind: str = "listing"


class Block(Protocol):
    """What a page is put together of; its kind is the name of its template."""

    @property
    def kind(self) -> str: ...  # noqa: D102


@dataclass(frozen=True)
class SheetName:
    """A sheet's file, its number in the set and its name."""

    file_name: str
    number: int
    name: str
    asks: str


SHEETS = (
    SheetName("index.html", 1, "Letter to the firm", "what the records say"),
    SheetName("quality.html", 2, "Causes", "what comes back, and why"),
    SheetName("training.html", 3, "Weak steps", "what to practise, step by step"),
    SheetName("owner.html", 4, "Rates and cost", "crew by crew, month by month"),
    SheetName("records.html", 5, "Records", "what came in, what was set aside"),
    SheetName("methods.html", 6, "Methods", "how the numbers are made, and whether they hold"),
    SheetName("explore.html", 7, "Look for yourself", "your own crew, product, time and fault"),
    SheetName("tables.html", 8, "Tables", "what every number is, and where it comes from"),
)


def named(file_name: str) -> SheetName:
    """The sheet of that file."""
    return next(name for name in SHEETS if name.file_name == file_name)


@dataclass(frozen=True)
class Script:
    """A script that stands in the page. It may not hold the tag that would end it; a test looks."""

    text: str

    @property
    def fingerprint(self) -> str:
        """By what the page's own rule lets this script run and no other."""
        return f"'sha256-{b64encode(sha256(self.text.encode('utf-8')).digest()).decode('ascii')}'"

    @property
    def markup(self) -> Markup:
        """The text, unchanged."""
        return Markup(self.text)


@dataclass(frozen=True)
class TitleBlock:
    """The foot of every sheet."""

    firm: str
    records_to: str
    run: str


@dataclass(frozen=True)
class Sheet:
    """One page. headline: the answer in a sentence; lead: who was counted, what cannot be told yet.

    do       what its reader does first, in a sentence or two; empty where that is not known
    scripts  what the page runs; all but the linked sheet run nothing
    """

    name: SheetName
    title_block: TitleBlock
    headline: str
    lead: tuple[str, ...]
    blocks: tuple[Block, ...]
    cautions: tuple[str, ...] = field(default=())
    scripts: tuple[Script, ...] = field(default=())
    do: str = ""


def render(sheet: Sheet) -> str:
    """The page as HTML: style, drawings and what it runs inside, no address outside."""
    following = SHEETS[sheet.name.number % len(SHEETS)]
    return page_from("pipeline.report", "sheet", sheet=sheet, sheets=SHEETS, following=following)

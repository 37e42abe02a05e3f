"""A crew's own sheet: three things to watch on one page to print and hand out; and a file with the sheets of all."""

import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from hashlib import sha256

from markupsafe import Markup

from pipeline.report.charts.limit_pictures import Asked, draw_limit
from pipeline.report.numbers import capital, cut, cut_inside, natural
from pipeline.report.reading import Results
from pipeline.report.rows.watch_rows import LimitInUse, UsualSide, WatchedThing
from pipeline.report.sheet import TitleBlock
from pipeline.report.templating import page_from
from pipeline.report.watching import watching
from pipeline.report.words import crew_sheet as words
from pipeline.report.words.common import DEFER, SITE_WORK, crew_name, sentence

FOLDER = "crews"
TOGETHER = "crew-sheets"
SHEETS_A_FILE = 100
NEXT_DOORS = 7
GAP_ROUND = "gap round"  # the picture of what is held against a table by material and width
MOST_NAME = 34
# names that a system keeps for itself
RESERVED = re.compile(r"(con|prn|aux|nul|com\d|lpt\d)")


@dataclass(frozen=True)
class WatchedItem:
    """One thing to watch, in words, and its picture."""

    says: str
    limit: str
    picture: Markup
    with_what: str
    how: str
    limits: str
    do: str
    usually: str
    why: str
    on_record: str
    caution: str
    source: str


@dataclass(frozen=True)
class CrewSheet:
    """The sheet of one crew. name: as the records have it; file_name: without folder."""

    name: str
    file_name: str
    headline: str
    lead: str
    items: tuple[WatchedItem, ...]

    @property
    def href(self) -> str:
        """Its place, from the other pages."""
        return href(self.file_name)


def href(file_name: str) -> str:
    """Where a crew's file lies, from the other pages."""
    return f"{FOLDER}/{file_name}"


@dataclass(frozen=True)
class _Known:
    """Limits by deviation; usual sides by crew and deviation; the table of gaps in words."""

    gaps: str
    limits: dict[str, list[LimitInUse]]
    sides: dict[tuple[str, str], list[UsualSide]]

    def item(self, row: WatchedThing, key: str, is_first: bool) -> WatchedItem:
        """One row as it stands on the sheet. is_first: of its step, where the caution stands."""
        limits, sides = self.limits.get(row.deviation, []), self.sides.get((row.crew, row.deviation), [])
        by_frame = self.gaps if watching(row.deviation).picture == GAP_ROUND else words.of_products(row, limits)
        return _item(row, limits, sides, key, by_frame, words.CAUTIONS_OF_STEPS.get(row.step, "") if is_first else "")


def crew_sheets(results: Results) -> list[CrewSheet]:
    """The sheet of every crew, by name."""
    known = _Known(words.gap_table(results.gaps()), {}, {})
    for limit in results.limits_in_use():
        known.limits.setdefault(limit.deviation, []).append(limit)
    for side in results.usual_sides():
        known.sides.setdefault((side.crew, side.deviation), []).append(side)
    by_crew: dict[str, list[WatchedThing]] = {}
    for row in results.watch_list():
        by_crew.setdefault(row.crew, []).append(row)
    names = sorted(by_crew, key=natural)
    files = file_names(names)
    return [_sheet(by_crew[name], files[name], number, known) for number, name in enumerate(names, start=1)]


def _sheet(rows: list[WatchedThing], file_name: str, number: int, known: _Known) -> CrewSheet:
    items = tuple(
        known.item(row, f"crew-{number}-{row.place}", all(row.step != other.step for other in rows[:before]))
        for before, row in enumerate(rows)
    )
    name = rows[0].crew
    return CrewSheet(name, file_name, words.headline(cut_inside(crew_name(name), MOST_NAME)), words.lead(rows), items)


def _item(
    row: WatchedThing, limits: list[LimitInUse], sides: list[UsualSide], key: str, by_frame: str, caution: str
) -> WatchedItem:
    how, limit, said = (
        watching(row.deviation),
        words.limit_words(row, limits),
        capital(cut(row.words, words.MOST_HEAD)),
    )
    asked = Asked(how.picture, words.limit_number(row, limits), how.place, words.sides_of(sides))
    return WatchedItem(
        said,
        limit,
        draw_limit(asked, key, said, f"Limit: {limit}. Beyond it is hatched."),
        words.with_what(row),
        how.how,
        by_frame,
        sentence(cut(row.do, words.MOST_SIGNS) or cut(row.words, words.MOST_SIGNS)),
        words.usual_side(sides),
        words.why(row),
        words.on_record(row),
        caution,
        cut(limits[0].source, words.MOST_SIGNS) if limits else "",
    )


def file_names(crews: list[str]) -> dict[str, str]:
    """A file name for every crew, safe on every system and unlike any other's.

    >>> file_names(["Crew Ash", "crew ash", "CON", "K 7/../x"])["Crew Ash"]
    'crew-ash.html'
    """
    taken: set[str] = set()
    found = {}
    for crew in crews:
        plain = unicodedata.normalize("NFKD", crew).encode("ascii", "ignore").decode().lower()
        slug = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:40]
        is_whole = slug and slug == crew.lower().replace(" ", "-")
        if not is_whole or slug in taken or RESERVED.fullmatch(slug):
            slug = f"{slug}-{sha256(crew.encode()).hexdigest()[:8]}".strip("-")
        taken.add(slug)
        found[crew] = f"{slug}.html"
    return found


def rendered(sheets: list[CrewSheet], title_block: TitleBlock) -> Iterator[tuple[str, str]]:
    """Every file as its path from the folder of pages and its text: one a crew, then all together to print at once."""
    for sheet in sheets:
        yield sheet.href, _page([sheet], title_block, "../")
    for first in range(0, len(sheets), SHEETS_A_FILE):
        yield together(first // SHEETS_A_FILE + 1), _page(sheets[first : first + SHEETS_A_FILE], title_block, "")


def together(number: int = 1) -> str:
    """The file that holds all sheets; of very many crews the first hundred, then the next."""
    return f"{TOGETHER}.html" if number == 1 else f"{TOGETHER}-{number}.html"


def _page(sheets: list[CrewSheet], title_block: TitleBlock, up: str) -> str:
    return page_from(
        "pipeline.report", "crew_sheet", sheets=sheets, title_block=title_block, up=up, tell_us=words.TELL_US,
        not_marked=words.NOT_MARKED, next_doors=words.NEXT_DOORS, cells=Markup("<td></td>" * NEXT_DOORS),
        cautions=(SITE_WORK, DEFER),
    )  # fmt: skip

"""The pages: self-contained HTML sheets from results.duckdb. Rows become words and lines; nothing is computed."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pipeline.crew_codes import Codes


def page_parts() -> range:
    """The numbers of the parts that can be drawn each by itself."""
    from pipeline.report.pages import N_PARTS

    return range(N_PARTS)


def write_pages(
    results: Path, folder: Path, codes: "Codes | None" = None, parts: Sequence[int] | None = None
) -> list[Path]:
    """Writes the sheets, index.html first, and a sheet for every crew into `folder` and returns their paths.

    results  results.duckdb of a finished build; read only
    folder   made where it does not exist
    codes    what every crew is shown as, by name; None: as the records name it
    parts    which to write, as `page_parts` numbers them; None: all
    """
    from pipeline.report.pages import pages_of

    written = []
    for name, text in pages_of(results, codes, page_parts() if parts is None else parts):
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
        written.append(path)
    return written

"""The pages: self-contained HTML sheets from results.duckdb. Rows become words and lines; nothing is computed."""

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pipeline.crew_codes import Codes


def write_pages(results: Path, folder: Path, codes: "Codes | None" = None) -> list[Path]:
    """Writes the sheets, index.html first, and a sheet for every crew into `folder` and returns their paths.

    results  results.duckdb of a finished build; read only
    folder   made where it does not exist
    codes    what every crew is shown as, by name; None: as the records name it
    """
    from pipeline.report.pages import pages_of

    written = []
    for name, text in pages_of(results, codes):
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
        written.append(path)
    return written

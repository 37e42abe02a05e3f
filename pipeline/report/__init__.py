"""The pages: self-contained HTML sheets from results.duckdb. Rows become words and lines; nothing is computed."""

from pathlib import Path


def write_pages(results: Path, folder: Path) -> list[Path]:
    """Writes the sheets, index.html first, and a sheet for every crew into `folder` and returns their paths.

    results  results.duckdb of a finished build; read only
    folder   made where it does not exist
    """
    from pipeline.report.pages import pages_of

    written = []
    for name, text in pages_of(results):
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
        written.append(path)
    return written

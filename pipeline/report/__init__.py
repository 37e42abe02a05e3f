"""The pages: five self-contained HTML sheets from results.duckdb. Rows become words and lines; nothing is computed."""

from pathlib import Path


def write_pages(results: Path, folder: Path) -> list[Path]:
    """Writes index, quality, training, owner and records (.html) into `folder` and returns their paths.

    results  results.duckdb of a finished build; read only
    folder   made where it does not exist
    """
    from pipeline.report.pages import sheets_of
    from pipeline.report.sheet import render

    folder.mkdir(parents=True, exist_ok=True)
    written = []
    for sheet in sheets_of(results):
        path = folder / sheet.name.file_name
        path.write_text(render(sheet), encoding="utf-8")
        written.append(path)
    return written

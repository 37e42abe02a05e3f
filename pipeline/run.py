"""The main job, from a folder of records to published pages: the table of contents of the pipeline."""

import secrets
import shlex
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import polars as pl

from pipeline.building.build import BuildInputs, build_results
from pipeline.building.side_processes import Job, beside
from pipeline.catalogue.rows import Catalogue
from pipeline.catalogue.tables import catalogue_tables
from pipeline.crew_codes import KEY_FILE, Coder, Codes, crew_codes, names_in_sheets
from pipeline.export import export_tables
from pipeline.folders import DOORS, RECORDS, demo_output, left_as_found, output_folder, records_folder
from pipeline.ingest.files.unread import unread_sentence
from pipeline.ingest.take import Intake, take_in
from pipeline.progress import Progress
from pipeline.publish import BOOK, RESULTS, book_in, built_aside, publish
from pipeline.report import page_parts, write_pages
from pipeline.report.book import write_book
from pipeline.settings import Settings, load_settings, settings_table
from pipeline.summary import RunSummary, counted, summarise
from pipeline.terminal import from_here
from pipeline.warehouse import locked, open_results


def run_firm(folder: Path, out: Path | None, progress: Progress, has_codes: bool = False) -> RunSummary:
    """Takes the records in, builds every table, writes tables and pages, and puts them in place together.

    out        where to leave them; None: `<folder>-fitback` beside the folder
    has_codes  show crews as codes, whatever the settings say
    Raises UserError, one sentence, where the command cannot run as asked; the last results then stay.
    """
    folder = records_folder(folder)
    out = output_folder(folder, out)
    settings, catalogue = load_settings(folder)
    settings = replace(settings, crew_codes=settings.crew_codes or has_codes)
    run_id = new_run_id()
    with left_as_found(out), locked(out), built_aside(out) as aside:
        progress.at("Reading the records")
        intake = take_in(folder, out, settings, catalogue, progress)
        sources = source_tables(settings, catalogue, intake)
        inputs = BuildInputs(out / RECORDS, sources, out / RESULTS, run_id)
        with beside(intake.accounts["installs"].taken_in) as sides:
            report = build_results(inputs, aside / RESULTS, progress, sides=sides)
            progress(report.sentence)
            codes = crew_codes(aside / RESULTS, out / KEY_FILE) if settings.crew_codes else {}
            progress.at("Drawing the pages")
            sides.do_all(_writing(aside, codes, has_sides=sides.count > 0))
        publish(out, run_id)
    with open_results(out / RESULTS) as results:
        summary = summarise(results, out, _notes(intake, folder, out, codes), tuple(intake.to_mend))
    return with_book(summary, book_in(out))


def _writing(folder: Path, codes: Codes, has_sides: bool) -> list[Job]:
    """What is written from the results in `folder`: pages, in parts where others draw some, workbook and tables."""
    results, pages = folder / RESULTS, folder / "pages"
    parts = [(part,) for part in page_parts()] if has_sides else [None]
    return [
        *(Job(f"pages {number}", write_pages, (results, pages, codes, part)) for number, part in enumerate(parts)),
        Job("workbook", write_book, (results, folder / BOOK, codes)),
        Job("tables", export_tables, (results, folder / "tables", None, codes)),
    ]


def _notes(intake: Intake, folder: Path, out: Path, codes: Codes) -> tuple[str, ...]:
    """What the intake has to say; with codes, no crew by its name, and where it stands who is who."""
    notes = [*intake.notes, *unread_sentence(intake.unread, shlex.quote(str(from_here(folder))))]
    if not codes:
        return tuple(notes)
    told = f"Crews are shown as codes; who is who stands in {out / KEY_FILE}, which is not to go with the pages."
    named = names_in_sheets(out / DOORS, codes)
    drawn = f"{counted(named, 'sheet')} in {out / DOORS} may name crews; draw these doors again, or remove them."
    return tuple(filter(None, (*map(Coder(codes).loose, notes), told, drawn if named else "")))


def with_book(summary: RunSummary, book: Path | None) -> RunSummary:
    """The summary with the workbook of results, and what to say where it does not bear its usual name."""
    if book is None or book.name == BOOK:
        return replace(summary, book=book)
    held = f"{BOOK} is open in another program, or not one that fitback wrote, so this run wrote {book.name} beside it."
    return replace(summary, book=book, notes=(*summary.notes, held))


def run_demo(out: Path | None, progress: Progress, has_codes: bool = False) -> RunSummary:
    """The main job on the invented firm; leaves its results in a clone's `reports/`, else in `./fitback-demo`."""
    from pipeline.demo.files import demo_folder  # its package loads the simulator

    return run_firm(demo_folder(), out or demo_output(), progress, has_codes)


def source_tables(settings: Settings, catalogue: Catalogue, intake: Intake) -> dict[str, pl.DataFrame]:
    """Settings and catalogue as the source tables that models read."""
    return {"settings": settings_table(settings, intake.as_of), **catalogue_tables(catalogue)}


def new_run_id() -> str:
    """A name for this run: when it began (UTC) and six random digits, such as 2026-03-09T101500-4f02ab."""
    return f"{datetime.now(UTC):%Y-%m-%dT%H%M%S}-{secrets.token_hex(3)}"

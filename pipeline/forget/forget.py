"""Forgets a customer: the table of contents. Every file of the output is written anew without them, then put in place.

The firm's own files are not touched; what they still hold is told by file, sheet and row.
"""

import shutil
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pipeline.books import is_open_elsewhere
from pipeline.errors import UserError
from pipeline.fault_log import LOG
from pipeline.folders import DOORS_WITH_PEOPLE, PEOPLE, RECORDS, chosen_output
from pipeline.forget.databases import clear_database, copy_afresh
from pipeline.forget.door_sheets import sheets_that_tell
from pipeline.forget.erase import erase, notes_to_erase, rows_to_erase
from pipeline.forget.persons import Person, Row, Wanted, find_persons, listed, rows_of_people
from pipeline.forget.texts import Texts, clear_workbook
from pipeline.ingest import records
from pipeline.ingest.declared.look_ups import LOOKED_UP
from pipeline.ingest.history.row_keys import row_of
from pipeline.ingest.history.store import open_store
from pipeline.ingest.linking.review_sheet import REVIEW_SHEET, write_review_sheet
from pipeline.ingest.linking.reviews import take_reviews
from pipeline.ingest.mending.book import BOOK
from pipeline.publish import RESULTS, book_in, complete
from pipeline.rewriting import Rewriting, rewriting
from pipeline.summary import counted
from pipeline.warehouse import locked, open_results

if TYPE_CHECKING:
    import duckdb

_WORK = ".work"


@dataclass(frozen=True)
class Forgotten:
    """What was erased. sources: (file, sheet, rows) of the firm's files that still hold it.

    workbooks  those of the output that were written anew, of which there may be copies
    sheets     files of sheets of single doors that may tell of the person and were taken away
    looked_into  other files and sheets in which the rows of these files look it up
    """

    doors: tuple[str, ...]
    callback_ids: tuple[str, ...]
    other_notes: tuple[str, ...]
    other_names: int
    sources: tuple[tuple[str, str | None, tuple[int, ...]], ...]
    workbooks: tuple[str, ...]
    sheets: tuple[str, ...]
    looked_into: tuple[str, ...] = ()

    @property
    def sentences(self) -> list[str]:
        """Lines for a person; no name among them."""
        lines = [self._erased(), *self._others()]
        if self.sources:
            lines.append("Your own files still hold it, and fitback does not change them; take it out there:")
            lines += [f"  {_place(*source)}" for source in self.sources]
            lines += [f"  {where}, in which these rows look it up" for where in self.looked_into]
            lines.append(
                "Taken in again, these rows stay erased. A callback to come is linked by door or job number only."
            )
        if self.workbooks:
            lines.append(f"Written anew without it: {listed(self.workbooks)}; a copy kept elsewhere still holds it.")
        if self.sheets:
            sheets = dict.fromkeys(name.rsplit(".", 1)[0] for name in self.sheets)
            lines.append(f"Sheets taken away, as they may tell of it: {listed(sheets)}; a copy kept elsewhere stays.")
        return lines

    def as_json(self) -> dict[str, Any]:
        """The same for a program."""
        return {
            "doors": list(self.doors),
            "callbacks": list(self.callback_ids),
            "callbacks_with_another_name": self.other_names,
            "notes_of_other_doors": list(self.other_notes),
            "still_in": [{"file": file, "sheet": sheet, "rows": list(rows)} for file, sheet, rows in self.sources],
            "looked_up_in": list(self.looked_into),
            "workbooks": list(self.workbooks),
            "sheets": list(self.sheets),
        }

    def _erased(self) -> str:
        doors = f"{counted(len(self.doors), 'door')}{f' ({listed(self.doors)})' if self.doors else ''}"
        ids = f" ({listed(self.callback_ids)})" if self.callback_ids else ""
        return (
            f"Erased customer, address, postcode and notes of {doors} and "
            f"{counted(len(self.callback_ids), 'callback')}{ids}; readings, links and faults stay."
        )

    def _others(self) -> list[str]:
        lines = []
        if self.other_names:
            lines.append(
                f"{counted(self.other_names, 'callback')} of these doors stood under another name; erased too."
            )
        if self.other_notes:
            notes = f"The {'note' if len(self.other_notes) == 1 else 'notes'} of {listed(self.other_notes)}"
            lines.append(f"{notes} named the customer as well; erased.")
        return lines


def forget_customer(wanted: Wanted, out: Path | None) -> Forgotten:
    """Erases the customer from an output folder: from records, people, results, tables, pages and workbooks.

    Raises UserError, one sentence, where nobody has the name, or several have and it is not said which.
    """
    out = chosen_output(out)
    with locked(out):
        _refuse_open_books(out)
        complete(out)
        with rewriting(out) as change:
            with open_store(out) as connection:
                rows, doors_of = rows_of_people(connection), _doors_of_callbacks(out)
                persons = find_persons(rows, doors_of, wanted)
                erased = rows_to_erase(rows, persons)
                notes = notes_to_erase(rows, persons, erased)
                sources = _sources(connection, [*erased, *notes])
                looked_into = _looked_into(connection, [*erased, *notes])
                take_reviews(connection, out, date.today())
            is_only = wanted.every or len(find_persons(rows, doors_of, Wanted(wanted.name, every=True))) == 1
            texts = _rewrite_records(out, change, persons, erased, notes, is_only)
            _rewrite_results(out, change, texts)
            workbooks = _rewrite_others(out, change, texts)
            sheets = sheets_that_tell(out, _doors_told_of(persons, [*erased, *notes], doors_of), texts)
            change.gone += sheets
        _clear_leavings(out)
    forgotten = _forgotten(persons, erased, notes, sources, workbooks, tuple(sheets))
    return replace(forgotten, looked_into=looked_into)


def _doors_told_of(persons: list[Person], rows: list[Row], doors_of: dict[str, str]) -> set[str]:
    """The doors whose sheets may show one of the rows."""
    return {door for one in persons for door in one.doors} | {
        doors_of[row.key] for row in rows if row.record == "callbacks" and row.key in doors_of
    }


def _refuse_open_books(out: Path) -> None:
    """Raises UserError where a workbook is open elsewhere: saved there, it would hold the customer again."""
    for path in sorted(out.glob("*.xlsx")):
        if is_open_elsewhere(path):
            raise UserError(f"{path.name} is open in another program; close it there and try again.")


def _doors_of_callbacks(out: Path) -> dict[str, str]:
    with open_results(out / RESULTS) as results:
        linked = "SELECT callback_id, install_id FROM linked_callbacks WHERE install_id IS NOT NULL"
        return dict(results.execute(linked).fetchall())


def _sources(
    connection: "duckdb.DuckDBPyConnection", rows: list[Row]
) -> tuple[tuple[str, str | None, tuple[int, ...]], ...]:
    """Where the rows stand in the firm's files, as far as these are in force."""
    loads = {
        load: (file, sheet)
        for load, file, sheet in connection.execute("SELECT load, file, sheet FROM loads").fetchall()
    }
    found: dict[tuple[str, str | None], set[int]] = {}
    for row in rows:
        if row.load in loads:
            found.setdefault(loads[row.load], set()).add(row_of(row.row))
    return tuple(
        (file, sheet, tuple(sorted(found[file, sheet])))
        for file, sheet in sorted(found, key=lambda place: (place[0], place[1] or ""))
    )


def _looked_into(connection: "duckdb.DuckDBPyConnection", rows: list[Row]) -> tuple[str, ...]:
    """The other files and sheets that the rows take a customer, an address or a postcode from."""
    loads = {row.load for row in rows}
    personal = {column.name for record in records.RECORDS for column in record.personal}
    found = connection.execute('SELECT load, "column", heading FROM headings').fetchall()
    headings = [heading for load, column, heading in found if load in loads and column in personal]
    return tuple(sorted({text.rpartition(LOOKED_UP)[2] for text in headings if LOOKED_UP in text}))


def _rewrite_records(
    out: Path, change: Rewriting, persons: list[Person], erased: list[Row], notes: list[Row], is_only: bool
) -> Texts:
    """Writes records, people and the review sheet without the persons; their texts."""
    work = change.folder / _WORK
    work.mkdir()
    for name in (RECORDS, PEOPLE):
        shutil.copyfile(out / name, work / name)
    with open_store(work) as connection:
        texts = erase(connection, persons, erased, notes, is_only)
        write_review_sheet(connection, change.folder)
    if not (change.folder / REVIEW_SHEET).is_file():
        change.gone.append(REVIEW_SHEET)
    for name in (RECORDS, PEOPLE):
        copy_afresh(work / name, change.folder / name)
    shutil.rmtree(work)
    return texts


def _rewrite_results(out: Path, change: Rewriting, texts: Texts) -> None:
    """Writes results without the texts where they hold any, and with them their tables and pages."""
    for path in sorted(out.glob("*.duckdb")):
        if path.name not in (RECORDS, PEOPLE):
            clear_database(path, change.folder / path.name, texts)
    if (change.folder / RESULTS).is_file():
        from pipeline.crew_codes import codes_shown
        from pipeline.export import export_tables
        from pipeline.report import write_pages
        from pipeline.report.book import write_book

        results = change.folder / RESULTS
        codes = codes_shown(results, out)
        export_tables(results, change.folder / "tables", codes=codes)
        write_pages(results, change.folder / "pages", codes)
        if book := book_in(out):
            write_book(results, change.folder / book.name, codes)


def _rewrite_others(out: Path, change: Rewriting, texts: Texts) -> tuple[str, ...]:
    """Writes workbooks and the log without the texts; the names of the workbooks that held them, or may have."""
    names = [REVIEW_SHEET] if (out / REVIEW_SHEET).is_file() else []
    for path in sorted(out.glob("*.xlsx")):
        if path.name == REVIEW_SHEET or path.name.startswith(("~$", ".")):
            continue
        is_made_anew = (change.folder / path.name).exists()  # with the results, which held the customer
        if is_made_anew or clear_workbook(path, change.folder / path.name, texts):
            names.append(path.name)
    if (out / LOG).is_file():
        text = (out / LOG).read_text(encoding="utf-8", errors="replace")
        if (clean := texts.rule.without(text, is_as_written=False)) != text:
            (change.folder / LOG).write_text(clean, encoding="utf-8")
    return tuple(names)


def _clear_leavings(out: Path) -> None:
    """Takes away what stopped runs may have left: nothing of it is needed once the folder is locked and complete."""
    for name in ("temporary", ".next"):
        shutil.rmtree(out / name, ignore_errors=True)
    for name in (REVIEW_SHEET, BOOK):
        (out / f".{name}").unlink(missing_ok=True)
    with suppress(OSError):  # there is none, or sheets of others lie in it
        (out / DOORS_WITH_PEOPLE).rmdir()


def _forgotten(
    persons: list[Person],
    erased: list[Row],
    notes: list[Row],
    sources: tuple[tuple[str, str | None, tuple[int, ...]], ...],
    workbooks: tuple[str, ...],
    sheets: tuple[str, ...],
) -> Forgotten:
    theirs = {row.key for one in persons for row in one.rows if row.record == "callbacks"}
    others = {row.key for row in erased if row.record == "callbacks" and row.customer} - theirs
    return Forgotten(
        tuple(sorted({door for one in persons for door in one.doors})),
        tuple(sorted({callback for one in persons for callback in one.callback_ids})),
        tuple(sorted({row.key for row in notes})),
        len(others),
        sources,
        workbooks,
        sheets,
    )


def _place(file: str, sheet: str | None, rows: tuple[int, ...]) -> str:
    where = f"{file}, sheet {sheet}" if sheet else file
    return f"{where}, {'row' if len(rows) == 1 else 'rows'} {listed(map(str, rows))}"

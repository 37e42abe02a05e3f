"""Takes a folder of records in: the table of contents of the ingest."""

import hashlib
import json
from collections.abc import Callable
from dataclasses import asdict, dataclass, field, replace
from datetime import date, datetime
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING

from pipeline.catalogue import Catalogue
from pipeline.errors import UserError, as_sentence
from pipeline.ingest.coding import code_notes
from pipeline.ingest.declared.mapping_tables import read_mapping
from pipeline.ingest.declared.said_outcomes import with_known_outcomes
from pipeline.ingest.files.folder import Listing, list_folder
from pipeline.ingest.files.unread import UnreadColumn, settle_unread
from pipeline.ingest.history.account import Account, FileLine, accounts, write_files
from pipeline.ingest.history.as_of import LastDay, find_as_of
from pipeline.ingest.history.deliveries import settle
from pipeline.ingest.history.fitness import judge_fitness
from pipeline.ingest.history.people import give_people_back, put_people_right
from pipeline.ingest.history.rejections import write_rejections
from pipeline.ingest.history.segments import drop_strays, records_in_use, view_all_rows
from pipeline.ingest.history.spellings import find_crew_spellings, find_word_spellings, spelling_notes
from pipeline.ingest.history.store import has_views, one_row, open_store
from pipeline.ingest.history.views import make_current_view, make_views
from pipeline.ingest.linking import link_callbacks
from pipeline.ingest.mending.book import write_set_aside
from pipeline.ingest.mending.taking import bring_corrections, take_corrections, waiting_note
from pipeline.ingest.plan import Plan, make_plan
from pipeline.ingest.reading import Outcome, Reader
from pipeline.ingest.records import INSTALLS, RECORDS
from pipeline.ingest.texts.words import outcome_words
from pipeline.settings import Settings, ignored_columns, job_aliases

if TYPE_CHECKING:
    import duckdb


@dataclass(frozen=True)
class Intake:
    """as_of: the day the records were drawn. accounts: by record. notes: sentences worth telling.

    to_mend  where what is set aside can be corrected, in sentences; empty where nothing is
    unread   columns that nothing is read from and nobody has left out
    """

    as_of: date
    accounts: dict[str, Account]
    notes: list[str]
    to_mend: list[str] = field(default_factory=list)
    unread: tuple[UnreadColumn, ...] = ()


def take_in(
    folder: Path,
    out: Path,
    settings: Settings,
    catalogue: Catalogue,
    say: Callable[[str], None],
    today: date | None = None,
    last: Path | None = None,
) -> Intake:
    """Takes the folder's records into out/records.duckdb and out/people.duckdb, all of them or, if stopped, none.

    today  the last day that can be where the settings name no as_of
    last   the output folder whose corrections count, and which is left as it is; None: they are those of `out`, where
           the workbook of what is set aside is then written anew
    Raises UserError, one sentence, where the folder holds no records or no door could be taken in.
    """
    rules = rules_of(settings, catalogue, today)
    maps = with_known_outcomes(read_mapping(folder), outcome_words(catalogue))
    listing = list_folder(folder, out, maps)
    with open_store(out) as connection:
        intake = take_records(connection, listing, out, rules, say, last)
        unread = settle_unread(connection, ignored_columns(folder))
        code_notes(connection, catalogue)
        intake.notes.extend(link_callbacks(connection, out, job_aliases(folder)))
        if last is None:
            intake.to_mend.extend(write_set_aside(connection, out))
    return replace(intake, unread=unread)


@dataclass(frozen=True)
class Rules:
    """What rows are judged by."""

    settings: Settings
    catalogue: Catalogue
    last_day: LastDay


def rules_of(settings: Settings, catalogue: Catalogue, today: date | None = None) -> Rules:
    """The rules of a firm. today: the last day that can be where the settings name no as_of."""
    return Rules(settings, catalogue, LastDay(settings.as_of or today or date.today(), settings.as_of is not None))


def take_records(
    connection: "duckdb.DuckDBPyConnection",
    listing: Listing,
    out: Path,
    rules: Rules,
    say: Callable[[str], None],
    last: Path | None = None,
) -> Intake:
    """Takes the rows in, with their account and history, as `take_in`; notes are not coded, callbacks not linked."""
    put_people_right(connection)
    give_people_back(connection)
    drop_strays(connection)
    told = bring_corrections(connection, last) if last else take_corrections(connection, out)
    plan = make_plan(connection, listing, rules.catalogue)
    say(_told(plan))
    reader = Reader(connection, connection.cursor(), rules.catalogue, rules.last_day.day)
    reader.land_large(plan.to_read)
    connection.execute("BEGIN")
    intake = _take_in(connection, reader, listing, plan, rules)
    connection.execute("COMMIT")
    put_people_right(connection)
    intake.notes.extend([*told, *waiting_note(connection, plan.vanished)])
    return intake


def _take_in(
    connection: "duckdb.DuckDBPyConnection", reader: Reader, listing: Listing, plan: Plan, rules: Rules
) -> Intake:
    run = _begin_run(connection, rules)
    if not has_views(connection):
        make_views(connection, RECORDS, rules.last_day.day)
    outcomes = reader.read(plan.to_read, run)
    reader.take_out_of_force(plan.left_out, run)
    changed = {one.planned.file.record for one in outcomes if one.refusal is None}
    _judge_states(connection, changed | {record for record, _ in plan.left_out}, rules.last_day.day)
    late = make_views(connection, records_in_use(connection), rules.last_day.day)
    refused = [(one.planned.file.record, one.planned.file.name, one.refusal) for one in outcomes if one.refusal]
    write_rejections(connection, refused, late, rules.last_day)
    as_of = find_as_of(connection, rules.settings.as_of)
    if as_of is None:
        raise UserError(_no_doors(connection))
    lines = _file_lines(listing, plan, outcomes)
    write_files(connection, lines)
    _end_run(connection, run, as_of)
    return Intake(
        as_of,
        accounts(connection),
        [as_sentence(f"{one.file} {one.status}: {one.reason}") for one in lines if one.reason]
        + spelling_notes(connection, not rules.settings.crew_codes),
    )


def _judge_states(connection: "duckdb.DuckDBPyConnection", changed: set[str], last_day: date) -> None:
    """Settles which rows count, record by record: what others hang on comes first."""
    records = records_in_use(connection)
    connection.execute("DELETE FROM spellings")  # found anew, record by record
    for record in records:
        view_all_rows(connection, record)
    for record in records:
        if record is INSTALLS:
            find_crew_spellings(connection)
            find_word_spellings(connection)
        if judge_fitness(connection, record, last_day) or record.name in changed:
            settle(connection, record)
        make_current_view(connection, record)


def _kept(outcome: Outcome) -> str:
    return "; its rows of the time before are kept" if outcome.planned.was_known else ""


def _told(plan: Plan) -> str:
    # a file of a firm's own may make several records
    to_read = {one.file.name for one in plan.to_read}
    n_read, n_unchanged = len(to_read), len({name for _, name in plan.unchanged} - to_read)
    if not n_read:
        return f"No file to read; {n_unchanged} unchanged since the last run."
    unchanged = f"; {n_unchanged} unchanged since the last run" if n_unchanged else ""
    return f"Reading {n_read} {'file' if n_read == 1 else 'files'}{unchanged}."


def _begin_run(connection: "duckdb.DuckDBPyConnection", rules: Rules) -> int:
    (run,) = one_row(connection, "SELECT coalesce(max(run), 0) + 1 FROM runs")
    settings = json.dumps(asdict(rules.settings), default=str, ensure_ascii=False)
    catalogue_hash = hashlib.sha256(repr(rules.catalogue).encode()).hexdigest()[:16]
    connection.execute(
        "INSERT INTO runs VALUES (?, ?, ?, ?, ?, NULL, ?, NULL)",
        [run, datetime.now(), version("fitback"), catalogue_hash, settings, rules.settings.seed],
    )
    return int(run)


def _end_run(connection: "duckdb.DuckDBPyConnection", run: int, as_of: date) -> None:
    loads = connection.execute(
        "SELECT record, file, sheet, content_hash, judged_by FROM loads WHERE replaced_in IS NULL ORDER BY ALL"
    ).fetchall()
    state = hashlib.sha256(repr((loads, as_of)).encode()).hexdigest()[:16]
    connection.execute("UPDATE runs SET as_of = ?, records_state = ? WHERE run = ?", [as_of, state, run])


def _no_doors(connection: "duckdb.DuckDBPyConnection") -> str:
    """The sentence for a folder without any door: the first reason, files foremost."""
    found = connection.execute(
        """
        SELECT file, sheet, "row", "column", reason, count(*) OVER () FROM rejections WHERE record = 'installs'
        ORDER BY scope <> 'file', file, sheet, "row" LIMIT 1
        """
    ).fetchall()
    if not found:
        return "There is no door: put installs.csv into the folder, with one row per door fitted."
    file, sheet, row, column, reason, n_all = found[0]
    parts = (file, sheet and f"sheet {sheet}", row and f"row {row}", column and f"column {column}")
    place = ", ".join(str(part) for part in parts if part)
    more = f" ({n_all - 1:,} more in installs)" if n_all > 1 else ""
    return as_sentence(f"No door could be taken in: {place}: {reason}{more}")


def _file_lines(listing: Listing, plan: Plan, outcomes: list[Outcome]) -> list[FileLine]:
    lines = [
        FileLine(one.planned.file.record, one.planned.file.name, "refused", one.refusal + _kept(one))
        if one.refusal
        else FileLine(one.planned.file.record, one.planned.file.name, "taken in", "; ".join(one.notes) or None)
        for one in outcomes
    ]
    lines += [FileLine(record, file, "unchanged") for record, file in plan.unchanged]
    lines += [
        FileLine(record, file, "vanished", "not in the folder any more; its rows are kept")
        for record, file in plan.vanished
    ]
    lines += [FileLine(None, file, "not read", reason) for file, reason in listing.others]
    return sorted(lines, key=lambda line: line.file)

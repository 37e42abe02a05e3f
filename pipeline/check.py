"""What a run would take in, set aside and link, without leaving anything behind."""

import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pipeline.building.build import BuildInputs, build_results
from pipeline.folders import RECORDS, records_folder, usual_output
from pipeline.ingest.files.unread import UnreadColumn, unread_lines
from pipeline.ingest.take import Intake, take_in
from pipeline.progress import Progress
from pipeline.publish import RESULTS
from pipeline.report.rows.intake_rows import MOST_SET_ASIDE
from pipeline.run import source_tables
from pipeline.settings import load_settings
from pipeline.summary import (
    NO_CORRECTIONS,
    Account,
    Corrections,
    account_sentence,
    corrections_sentences,
    read_account,
    read_corrections,
    set_aside_examples,
)
from pipeline.warehouse import open_results

if TYPE_CHECKING:
    import duckdb

NEEDED = ("intake_account", "set_aside", "corrections", "linked_callbacks")
_HOWS = {"matched": "by name and address", "none": "to no door"}


@dataclass(frozen=True)
class CheckSummary:
    """by_record and linked count rows; set_aside are example sentences for what n_set_aside lists in full."""

    account: Account
    by_record: dict[str, Account]
    linked: dict[str, int]
    set_aside: list[str]
    n_set_aside: int
    notes: tuple[str, ...]
    corrections: Corrections = NO_CORRECTIONS
    unread: tuple[UnreadColumn, ...] = ()

    @property
    def is_clean(self) -> bool:
        """True where nothing would be set aside or refused."""
        return self.account.is_clean

    @property
    def sentences(self) -> list[str]:
        """The summary as lines to print."""
        lines = [*self.notes, account_sentence(self.account, "Would read")]
        lines += [account_sentence(one, f"  {record:<12}") for record, one in self.by_record.items()]
        lines += unread_lines(self.unread)
        lines += corrections_sentences(self.corrections)
        if self.linked:
            hows = (f"{n:,} {_HOWS.get(how, f'by {how}')}" for how, n in self.linked.items())
            lines.append(f"Callbacks linked: {', '.join(hows)}.")
        if self.set_aside:
            lines.append(f"Set aside or left empty, by example ({self._where_all}):")
        return lines + [f"  {sentence}" for sentence in self.set_aside]

    @property
    def _where_all(self) -> str:
        shown = "all" if self.n_set_aside <= MOST_SET_ASIDE else f"the first {MOST_SET_ASIDE}"
        return (
            f"fitback run lists all {self.n_set_aside:,} in tables/set_aside.csv and shows {shown} on the records page"
        )

    def as_json(self) -> dict[str, Any]:
        """The same for a program."""
        return {
            "rows": vars(self.account),
            "by_record": {record: vars(account) for record, account in self.by_record.items()},
            "corrections": vars(self.corrections),
            "callbacks_linked": self.linked,
            "set_aside": self.set_aside,
            "n_set_aside": self.n_set_aside,
            "notes": list(self.notes),
            "columns_not_read": [{"file": one.file, "sheet": one.sheet, **vars(one.column)} for one in self.unread],
        }


def check_firm(folder: Path, progress: Progress) -> CheckSummary:
    """Takes the records in aside and tells the account; the folder and its output stay as they are."""
    folder = records_folder(folder)
    settings, catalogue = load_settings(folder)
    with tempfile.TemporaryDirectory(prefix="fitback-check-") as name:
        out = Path(name)
        progress.at("Reading the records")
        intake = take_in(folder, out, settings, catalogue, progress, last=usual_output(folder))
        inputs = BuildInputs(out / RECORDS, source_tables(settings, catalogue, intake), only=NEEDED)
        build_results(inputs, out / RESULTS, progress)
        with open_results(out / RESULTS) as results:
            return _summarise(results, intake)


def _summarise(results: "duckdb.DuckDBPyConnection", intake: Intake) -> CheckSummary:
    records = results.execute(
        "SELECT record FROM intake_account WHERE record IS NOT NULL GROUP BY record ORDER BY min(file)"
    ).fetchall()
    linked = results.execute("SELECT how, count(*) FROM linked_callbacks GROUP BY how ORDER BY how").fetchall()
    return CheckSummary(
        account=read_account(results),
        by_record={record: read_account(results, record) for (record,) in records},
        linked=dict(linked),
        set_aside=set_aside_examples(results),
        n_set_aside=results.execute("SELECT count(*) FROM set_aside").fetchall()[0][0],
        notes=tuple(intake.notes),
        corrections=read_corrections(results),
        unread=intake.unread,
    )

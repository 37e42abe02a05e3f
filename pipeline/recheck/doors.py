"""`fitback recheck`: new doors against what the firm's records say, before they are handed over.

Takes the new doors in beside the published results and evaluates the table `recheck` with them; writes nothing.
"""

import tempfile
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import polars as pl

from pipeline.building.build import BuildInputs, build_results
from pipeline.building.evaluation import Evaluator
from pipeline.crew_codes import Coder, Codes, codes_shown, crews_of, lay_over, with_new
from pipeline.errors import UserError
from pipeline.folders import RECORDS, records_folder, usual_output
from pipeline.graph import standard_graph
from pipeline.ingest.take import take_in
from pipeline.progress import Progress
from pipeline.publish import RESULTS
from pipeline.recheck.listing import RecheckList
from pipeline.run import source_tables
from pipeline.settings import load_settings
from pipeline.summary import account_sentence, read_account, set_aside_examples
from pipeline.warehouse import open_results

if TYPE_CHECKING:
    import duckdb

OF_DOORS = ("staged_installs", "door_values", "door_limits")
OF_ROWS = ("intake_account", "set_aside")
AS_THEY_ARE = ("effects", "episodes", "door_time")


def recheck_doors(folder: Path, doors: Path, out: Path | None, progress: Progress) -> RecheckList:
    """The new doors of a folder, judged by the results of another.

    out  the results; None: those that `fitback run` leaves beside `folder`
    Raises UserError, one sentence, where there are no results, no new doors, or they are the same folder.
    """
    folder, doors = records_folder(folder), records_folder(doors)
    if folder == doors:
        raise UserError(f"--doors is the folder of records itself ({folder}); give one that holds the new doors only.")
    published = (out or usual_output(folder)) / RESULTS
    if not published.is_file():
        how = f"make them with fitback run {folder}, or say with --out where they are"
        raise UserError(f"{published.parent} holds no results to judge by; {how}.")
    codes = codes_shown(published, published.parent)
    new, notes = _taken_in(folder, doors, codes, progress)
    progress.at("Weighing what could come back")
    with open_results(published) as results:
        rows = _rows(results, new)
        words = dict(results.execute("SELECT name, words FROM catalogue_faults").fetchall())
    if codes:  # a crew that is new in these doors gets a code for this list only
        coder = Coder(with_new(new["staged_installs"]["crew"].unique().sort().to_list(), codes))
        rows, notes = coder.rows(rows), tuple(map(coder.loose, notes))
    return RecheckList(rows, words, new["staged_installs"].height, notes)


def _taken_in(
    folder: Path, doors: Path, codes: Codes, progress: Progress
) -> tuple[dict[str, pl.DataFrame], tuple[str, ...]]:
    """The tables of the new doors, and what to say. The firm's own catalogue counts, the day is that of the new doors.

    codes  what crews are shown as in what is said; none where by their names
    """
    settings, catalogue = load_settings(folder)
    own, _ = load_settings(doors)
    settings = replace(settings, as_of=own.as_of)
    with tempfile.TemporaryDirectory(prefix="fitback-recheck-") as name:
        place = Path(name)
        progress.at("Reading the new doors")
        intake = take_in(doors, place, settings, catalogue, progress)
        sources = source_tables(settings, catalogue, intake)
        build_results(BuildInputs(place / RECORDS, sources, only=(*OF_DOORS, *OF_ROWS)), place / RESULTS, progress)
        with open_results(place / RESULTS) as results:
            tables = {table: results.table(table).pl() for table in OF_DOORS}
            if codes:  # a name written wrongly is no name that could be replaced: such cells show nothing
                lay_over(results, with_new(crews_of(results), codes))
            return tables, (*intake.notes, *_set_aside(results))


def _set_aside(results: "duckdb.DuckDBPyConnection") -> list[str]:
    """What of the new doors was not taken in: without it a door would be missing from the list without a word."""
    examples = set_aside_examples(results)
    if not examples:
        return []
    return [
        account_sentence(read_account(results)),
        "Set aside or left empty, by example:",
        *(f"  {e}" for e in examples),
    ]


def _rows(results: "duckdb.DuckDBPyConnection", new: dict[str, pl.DataFrame]) -> list[dict[str, Any]]:
    """The table recheck with the new doors in the place of the recent ones; all else as it was published."""
    asked = new["staged_installs"].select("install_id", age_days=pl.lit(0.0))
    replaced: dict[str, Any] = {table: f"SELECT * FROM {table}" for table in AS_THEY_ARE}
    for table, frame in new.items():
        known = results.table(table).pl().join(asked, on="install_id", how="anti")
        replaced[table] = pl.concat([known, frame.select(known.columns)], how="vertical_relaxed")
    # a door that is on record already is judged as it stands in the new folder
    replaced["door_time"] = results.table("door_time").pl().join(asked, on="install_id", how="anti")
    evaluate = Evaluator(results, standard_graph(), "results.main")
    found = evaluate("recheck", recheck_doors=asked, **replaced)
    return found.sort(
        "avoided_per_minute", "risk", "install_id", "fault", descending=[True, True, False, False], nulls_last=True
    ).to_dicts()

"""`fitback recheck`: new doors against what the firm's records say, before they are handed over.

Takes the new doors in beside the published results and evaluates the table `recheck` with them; writes nothing.
"""

import tempfile
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import polars as pl

from pipeline.build import BuildInputs, build_results
from pipeline.errors import UserError
from pipeline.evaluation import Evaluator
from pipeline.folders import records_folder, usual_output
from pipeline.graph import standard_graph
from pipeline.ingest import take_in
from pipeline.progress import Progress
from pipeline.publish import RESULTS
from pipeline.report.words.common import crew_name
from pipeline.run import RECORDS, source_tables
from pipeline.settings import load_settings
from pipeline.sheets.cautions import CAUTIONS, DEFERS
from pipeline.summary import account_sentence, read_account, set_aside_examples
from pipeline.warehouse import open_results

if TYPE_CHECKING:
    import duckdb

OF_DOORS = ("staged_installs", "door_values", "door_limits")
OF_ROWS = ("intake_account", "set_aside")
AS_THEY_ARE = ("effects", "episodes", "door_time")
MOST_A_DOOR = 4
MOST_DOORS = 40


@dataclass(frozen=True)
class RecheckList:
    """rows: of the table recheck, the most callbacks avoided a minute first. words: of faults. n_doors: asked for."""

    rows: list[dict[str, Any]]
    words: dict[str, str]
    n_doors: int
    notes: tuple[str, ...]

    @property
    def sentences(self) -> list[str]:
        """The list as lines to print, door by door."""
        if not self.rows:
            few = "no fault has 10 first callbacks on record yet, so no risk can be told; go by the limits instead."
            return [*self.notes, f"{self.n_doors} doors read; {few}", *_cautions(set(CAUTIONS))]
        by_door: dict[str, list[dict[str, Any]]] = {}
        # doors with something known to be out come before those with something to measure
        for row in sorted(self.rows, key=_is_unknown):
            by_door.setdefault(row["install_id"], []).append(row)
        lines = [line for rows in list(by_door.values())[:MOST_DOORS] for line in self._door(rows)]
        left = len(by_door) - MOST_DOORS
        more = [f"{left} more doors have less to gain; --json lists all."] if left > 0 else []
        steps = {row["step"] for row in self.rows if row["step"]}
        return [*self.notes, *lines, *more, calibration_sentence(self.rows[0]), *_cautions(steps)]

    def _door(self, rows: list[dict[str, Any]]) -> list[str]:
        acts: dict[str, list[dict[str, Any]]] = {}
        for row in rows:
            if row["deviation"] is not None:
                acts.setdefault(row["deviation"], []).append(row)
        # one act may stand against several faults: looked at once, it spares them all
        ranked = sorted(
            acts.values(), key=lambda same: (_is_unknown(same[0]), -sum(row["avoided_per_minute"] for row in same))
        )
        door, crew = rows[0]["install_id"], crew_name(rows[0]["crew"])
        head = f"Door {door}, {crew}: {_chance(rows)} to come back within 12 months."
        if not ranked:
            return [head, "  Nothing to look at again: nothing is worse than on good doors."]
        shown = enumerate(ranked[:MOST_A_DOOR], start=1)
        left = len(ranked) - MOST_A_DOOR
        more = [f"  {left} more to look at on this door; --json lists all."] if left > 0 else []
        return [head, *(line for n, same in shown for line in self._act(n, same)), *more]

    def _act(self, n: int, same: list[dict[str, Any]]) -> list[str]:
        first = same[0]
        avoided = 100 * sum(row["avoided"] for row in same)
        faults = ", ".join(
            f"{self.words.get(row['fault'], row['fault'].replace('_', ' '))} {_percent(row['risk'])}, "
            f"{row['risk_ratio']:.1f} times the usual"
            for row in same
        )
        worth = f"{first['minutes']:.0f} min, {avoided:.1f} callbacks avoided on 100 such doors"
        do = first["do"][:1].upper() + first["do"][1:]
        return [f"  {n}. {first['step']}: {first['because']} ({faults})", f"     {do}. {worth}."]

    def as_json(self) -> dict[str, Any]:
        """The same for a program."""
        steps = {row["step"] for row in self.rows if row["step"]} or set(CAUTIONS)
        judged = calibration_sentence(self.rows[0]) if self.rows else None
        return {
            "doors": self.n_doors, "rows": self.rows, "calibration": judged, "notes": list(self.notes),
            "cautions": _cautions(steps),
        }  # fmt: skip


def calibration_sentence(row: dict[str, Any]) -> str:
    """How what was foretold held on later callbacks, of any row of the table."""
    kept = f"the risks here trust {_percent(row['kept'])} of the differences foretold"
    if row["slope"] is None:
        return f"How well risks are foretold cannot be judged yet, too few callbacks came later; {kept}."
    ends = f"{row['slope']:.2f} ({row['slope_low']:.2f} to {row['slope_high']:.2f})"
    return (
        f"Judged on the firm's own later callbacks, differences between doors were {ends} times as large as earlier "
        f"records foretold; {kept}. Minutes are common practice."
    )


def _cautions(steps: set[str]) -> list[str]:
    """What to beware of: for heavy glass and height always, since every look may end in lifting a leaf."""
    always = ("frame", "hanging")
    told = [CAUTIONS[step] for step in CAUTIONS if step in steps or step in always]
    return [DEFERS, *(told if steps & {"sill"} else [CAUTIONS["sill"], *told])]


def _is_unknown(row: dict[str, Any]) -> bool:
    """Nothing is recorded of what the row says to look at, or it says nothing."""
    return row["value"] is None


def _chance(rows: list[dict[str, Any]]) -> str:
    spared = 1.0
    for row in rows:
        spared *= 1 - row["risk"]
    return _percent(1 - spared)


def _percent(share: float) -> str:
    return f"{100 * share:.0f} %" if share >= 0.095 else f"{100 * share:.1f} %"


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
        raise UserError(f"{published.parent} holds no results to judge by; make them with fitback run {folder.name}.")
    new, notes = _taken_in(folder, doors, progress)
    progress.at("Weighing what could come back")
    with open_results(published) as results:
        rows = _rows(results, new)
        words = dict(results.execute("SELECT name, words FROM catalogue_faults").fetchall())
    return RecheckList(rows, words, new["staged_installs"].height, notes)


def _taken_in(folder: Path, doors: Path, progress: Progress) -> tuple[dict[str, pl.DataFrame], tuple[str, ...]]:
    """The tables of the new doors. The firm's own catalogue counts, the day is that of the new doors."""
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
            notes = (*intake.notes, *_set_aside(results))
            return {table: results.table(table).pl() for table in OF_DOORS}, notes


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

"""`fitback door ID`: one door's deviations and callbacks, every number followed to file, sheet, row and column.

Reads the published results and the records beside them; shows nothing personal and writes nothing.
"""

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pipeline.errors import UserError, nearest
from pipeline.folders import chosen_output
from pipeline.publish import RESULTS
from pipeline.report.catalogue_words import WORDS
from pipeline.run import RECORDS
from pipeline.warehouse import attach, open_results

if TYPE_CHECKING:
    import duckdb

_FACTS = """
    SELECT i.install_id, i.crew, i.fitted_on, i.handed_over_on, i.removed_on, i.leaves, i.width_mm, i.height_mm
    FROM records.installs AS i WHERE i.install_id = $id
"""
_DEVIATIONS = """
    SELECT d.deviation, d.step, d.value, c.unit, d.uncertainty, d.readings, d.undated, c.measure
    FROM deviations AS d JOIN catalogue_deviations AS c ON c.name = d.deviation
    WHERE d.install_id = $id ORDER BY c.step_order, c.ordinal
"""
_LIMITS = """
    SELECT l."limit", l.deviation, l.limit_value, l.decision, l.probability_out
    FROM limit_decisions AS l WHERE l.install_id = $id AND l.decision <> 'not recorded' ORDER BY l."limit"
"""
# A reading counts up to the door's window; what was measured later is another epoch of the door.
_READINGS = """
    SELECT h.measure, h.member, h.station, h.position_mm, h.value, h.unit, h.instrument, h.read_on, h.read_by, h.file,
        h.sheet, h."row", h."column", h.raw,
        CASE WHEN h.state <> 'current' THEN h.state WHEN h.read_on > w.last_on THEN 'after its time' ELSE 'counts' END
            AS state
    FROM records.readings_history AS h LEFT JOIN reading_windows AS w ON w.install_id = h.install_id
    WHERE h.install_id = $id
    ORDER BY h.measure, h.member NULLS FIRST, h.position_mm, h.station, h.file, h.sheet, h."row", h."column"
"""
_CHECKS = """
    SELECT "check", member, outcome, checked_on, file, sheet, "row", "column", state
    FROM records.checks_history WHERE install_id = $id
    ORDER BY "check", member NULLS FIRST, file, sheet, "row", "column"
"""
_INSTALL_ROWS = 'SELECT file, sheet, "row", "column", state FROM records.installs_history WHERE install_id = $id'
_CALLBACKS = """
    SELECT l.callback_id, c.reported_on, l.how, l.probability,
        (SELECT string_agg(f.fault || ' (' || f.how || ')', ', ' ORDER BY f.fault) FROM coded_callbacks AS f
         WHERE f.callback_id = l.callback_id) AS faults,
        (SELECT min(e.kind) FROM episodes AS e WHERE e.callback_id = l.callback_id) AS kind,
        h.file, h.sheet, h."row", h."column"
    FROM linked_callbacks AS l
    JOIN staged_callbacks AS c ON c.callback_id = l.callback_id
    LEFT JOIN records.callbacks_history AS h ON h.callback_id = l.callback_id AND h.state = 'current'
    WHERE l.install_id = $id ORDER BY c.reported_on, l.callback_id
"""
# what accounts for most first, what nothing accounts for last
_CAUSES = f"""
    SELECT a.callback_id, a.deviation, a.share, a.low, a.high, a.faults, a.value, a.good_value, a.unit, a.unrecorded,
        a.is_recorded, {WORDS.format(table="d", name="a.deviation")} AS words
    FROM callback_causes AS a LEFT JOIN catalogue_deviations AS d ON d.name = a.deviation
    WHERE a.install_id = $id
    ORDER BY a.callback_id, a.deviation = 'unexplained', a.share DESC, a.deviation
"""
Row = dict[str, Any]


@dataclass(frozen=True)
class DoorTrail:
    """One door: its facts, and rows of deviations, limits, readings, checks, callbacks, with where each stands.

    causes  of its callbacks: rows of callback_causes
    """

    facts: Row
    rows: list[Row]
    deviations: list[Row]
    limits: list[Row]
    readings: list[Row]
    checks: list[Row]
    callbacks: list[Row]
    causes: list[Row]

    @property
    def sentences(self) -> list[str]:
        """The trail as lines to print."""
        return [
            _facts(self.facts),
            *(f"  {_place(row)}{_state(row, 'current')}" for row in self.rows),
            *_block("Deviations, in the order of the work", [self._deviation(row) for row in self.deviations]),
            *_block("Readings", [_reading(row) for row in self.readings]),
            *_block("Checks", [_check(row) for row in self.checks]),
            *_block("Callbacks", [line for row in self.callbacks for line in self._callback(row)]),
        ]

    def as_json(self) -> dict[str, Any]:
        """The same for a program; days in ISO form."""
        return {name: _plain(getattr(self, name)) for name in self.__dataclass_fields__}

    def _callback(self, row: Row) -> list[str]:
        causes = [cause for cause in self.causes if cause["callback_id"] == row["callback_id"]]
        return [_callback(row), *(f"  {_cause(cause)}" for cause in causes)]

    def _deviation(self, row: Row) -> str:
        held = "; ".join(_limit(limit) for limit in self.limits if limit["deviation"] == row["deviation"])
        source = f" from {row['measure']}" if row["measure"] else ""
        doubt = f", standard uncertainty {row['uncertainty']:.2g}" if row["uncertainty"] else ""
        value = "too few readings" if row["value"] is None else f"{round(row['value'], 6):.4g} {_unit(row)}{doubt}"
        return f"{row['step']}: {row['deviation']}: {value} (n {row['readings']}{source}){f'; {held}' if held else ''}"


def door_trail(install_id: str, out: Path | None) -> DoorTrail:
    """The trail of one door in the results of `out` (else the only `*-fitback` folder here).

    Raises UserError where there are no results or no such door; then with the nearest known ones.
    """
    folder = chosen_output(out)
    with open_results(folder / RESULTS) as results:
        attach(results, folder / RECORDS, "records")
        facts = _ask(results, _FACTS, install_id)
        if not facts:
            raise UserError(_unknown(results, install_id))
        queries = (_INSTALL_ROWS, _DEVIATIONS, _LIMITS, _READINGS, _CHECKS, _CALLBACKS, _CAUSES)
        return DoorTrail(facts[0], *(_ask(results, query, install_id) for query in queries))


def _ask(results: "duckdb.DuckDBPyConnection", query: str, install_id: str) -> list[Row]:
    found = results.execute(query, {"id": install_id})
    names = [column[0] for column in found.description or []]
    return [dict(zip(names, row, strict=True)) for row in found.fetchall()]


def _unknown(results: "duckdb.DuckDBPyConnection", install_id: str) -> str:
    waiting = f"door {install_id} is set aside ("  # as what hangs on such a door is told
    reasons = results.execute("SELECT reason FROM set_aside WHERE starts_with(reason, ?) LIMIT 1", [waiting]).fetchall()
    for (reason,) in reasons:
        where = reason.removeprefix(waiting).split(")")[0]
        return f"Door {install_id} is set aside ({where}); correct its row in set_aside.xlsx and run again."
    known = [name for (name,) in results.execute("SELECT install_id FROM staged_installs").fetchall()]
    near = nearest(install_id, known, cutoff=0.5)
    hint = f"did you mean {' or '.join(near)}?" if near else "give its install_id as the records write it."
    return f"There is no door {install_id} among the {len(known):,} taken in; {hint}"


def _facts(facts: Row) -> str:
    days = (("fitted", "fitted_on"), ("handed over", "handed_over_on"), ("removed", "removed_on"))
    said = [f"{word} {facts[name]:%Y-%m-%d}" for word, name in days if facts[name]]
    size = " x ".join(f"{facts[name]:.10g}" for name in ("width_mm", "height_mm") if facts[name])
    said += [f"{size} mm"] if size else []
    said += [f"{facts['leaves']} leaves"] if facts["leaves"] else []
    crew = facts["crew"] if facts["crew"].casefold().startswith("crew") else f"crew {facts['crew']}"
    return f"Door {facts['install_id']}, {crew}: {', '.join(said)}."


def _block(heading: str, lines: list[str]) -> list[str]:
    return [f"{heading}:", *(f"  {line}" for line in lines)] if lines else [f"{heading}: none on record."]


def _unit(row: Row) -> str:
    return "of the checks failed" if row["unit"] == "share" else str(row["unit"])


def _limit(limit: Row) -> str:
    at = "" if limit["limit_value"] is None else f" {limit['limit_value']:.4g}"
    return f"{limit['limit']}{at}: {limit['decision']}"


def _reading(row: Row) -> str:
    at = [row["member"], row["station"], None if row["position_mm"] is None else f"at {row['position_mm']:.10g} mm"]
    what = " ".join(part for part in (row["measure"], *at) if part)
    day = f", {row['read_on']:%Y-%m-%d}" if row["read_on"] else ", undated"
    raw = f" as {row['raw']}" if row["raw"] else ""
    return f"{what}: {_number(row)}{raw}{day}: {_place(row)}{_state(row, 'counts')}"


def _number(row: Row) -> str:
    if row["value"] is None:
        return "said to be fine, no number"
    return f"{row['value']:.10g} {row['unit'] or ''}".strip()


def _check(row: Row) -> str:
    member = f" {row['member']}" if row["member"] else ""
    return f"{row['check']}{member} {row['outcome']}: {_place(row)}{_state(row, 'current')}"


def _callback(row: Row) -> str:
    chance = f", chance {row['probability']:.2f}" if row["how"] == "matched" else ""
    kind = f", {row['kind']}" if row["kind"] else ""
    faults = row["faults"] or "unclear"
    return f"{row['callback_id']} {row['reported_on']:%Y-%m-%d} {faults}{kind}; by {row['how']}{chance}: {_place(row)}"


def _cause(row: Row) -> str:
    """What accounts for a part of a callback, with its 95 % interval."""
    share = f"{_percent(row['share'])} ({_percent(row['low'])} to {_percent(row['high'])})"
    if row["deviation"] != "unexplained" and not row["is_recorded"]:
        return f"may go with {row['words']}, not recorded here: {share} of it, going by others called back for the same"
    if row["deviation"] != "unexplained":
        # a check that failed says so in its words
        is_check = row["unit"] == "share"
        shown = "" if is_check else f" {_short(row['value'])}, a good door {_short(row['good_value'])} {row['unit']}"
        return f"goes with {row['words']}{shown}: {share} of it"
    n = row["unrecorded"]
    hidden = f"; {n} known {'cause is' if n == 1 else 'causes are'} not recorded on this door" if n else ""
    return f"not explained by what is recorded: {share}{hidden}"


def _short(number: float) -> str:
    return f"{number:.3g}"


def _percent(share: float) -> str:
    return f"{100 * share:.0f} %"


def _place(row: Row) -> str:
    """Where a row stands: file, sheet, row, column."""
    parts = [row["file"], row["sheet"] and f"sheet {row['sheet']}", row["row"] and f"row {row['row']}", row["column"]]
    return ", ".join(str(part) for part in parts if part)


def _state(row: Row, usual: str) -> str:
    return "" if row["state"] == usual else f" ({row['state']})"


def _plain(value: Any) -> Any:
    if isinstance(value, list):
        return [_plain(one) for one in value]
    if isinstance(value, dict):
        return {name: _plain(one) for name, one in value.items()}
    return value.isoformat() if hasattr(value, "isoformat") else value

"""All that the results hold of one door, every number with the file, sheet, row and column it comes from.

Each query asks by the door's number, so that a firm of a million doors answers as a small one does. Nothing personal is
read: no customer, no address, no note.
"""

import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pipeline.crew_codes import Coder, published_codes
from pipeline.errors import UserError, nearest
from pipeline.folders import RECORDS
from pipeline.publish import RESULTS
from pipeline.report.catalogue_words import DEVIATION_WORDS, WORDS, fault_words
from pipeline.warehouse import attach, open_results

if TYPE_CHECKING:
    import duckdb

_FACTS = """
    SELECT i.install_id, i.crew, i.fitted_on, i.handed_over_on, i.removed_on, i.leaves, i.width_mm, i.height_mm,
        i.surveyed_on, i.product, i.material, i.colour, i."work", i.leaf_weight_kg,
        t.started_on, t.from_on, t.until_on, t.ended_by, t.warranty_on, t.door_years,
        s.firm, s.as_of, (SELECT max(run_id) FROM runs) AS run
    FROM records.installs AS i
    LEFT JOIN door_time AS t ON t.install_id = i.install_id
    CROSS JOIN settings AS s
    WHERE i.install_id = $id
"""
_DEVIATIONS = f"""
    SELECT d.deviation, d.step, d.value, deviation.unit, d.uncertainty, d.readings, d.undated, deviation.measure,
        deviation.how, deviation.role, deviation."do", {DEVIATION_WORDS} AS words
    FROM deviations AS d JOIN catalogue_deviations AS deviation ON deviation.name = d.deviation
    WHERE d.install_id = $id ORDER BY deviation.step_order, deviation.ordinal
"""
# A limit of several rows (by product, material, day) names the sources of all of them.
_LIMITS = f"""
    SELECT l."limit", l.deviation, l.limit_value, l.decision, l.probability_out, l.lower_limit, l.upper_limit, l.value,
        deviation.unit, deviation.step, {DEVIATION_WORDS} AS words,
        (SELECT string_agg(DISTINCT c.source || coalesce(', ' || nullif(c.edition, ''), ''), '; ')
         FROM catalogue_limits AS c
         WHERE c.name = l."limit" AND c.deviation = l.deviation AND c.status = 'in use') AS source
    FROM limit_decisions AS l
    JOIN catalogue_deviations AS deviation ON deviation.name = l.deviation
    WHERE l.install_id = $id ORDER BY deviation.step_order, deviation.ordinal, l."limit"
"""
# What was read or seen counts up to the door's window; later it is another epoch of the door. A day that lies after the
# records were drawn is taken as none: the history keeps it as written, the current rows do not.
_DAY = """CASE WHEN h.state <> 'current'
            OR h.{day} IN (SELECT r.{day} FROM records.{record} AS r WHERE r.install_id = $id AND r.{day} IS NOT NULL)
            THEN h.{day} END"""
_READ_ON = _DAY.format(record="readings", day="read_on")
_CHECKED_ON = _DAY.format(record="checks", day="checked_on")
_STATE = "CASE WHEN h.state = 'current' AND {day} > w.last_on THEN 'after its time' ELSE {else_} END AS state"
_READINGS = f"""
    SELECT h.measure, h.member, h.station, h.position_mm, h.value, h.unit, h.instrument, {_READ_ON} AS read_on,
        h.read_by, h.file, h.sheet, h."row", h."column", h.raw, h.written_value, h.written_unit,
        {WORDS.format(table="m", name="h.measure")} AS words,
        {_STATE.format(day=_READ_ON, else_="CASE h.state WHEN 'current' THEN 'counts' ELSE h.state END")}
    FROM records.readings_history AS h
    LEFT JOIN reading_windows AS w ON w.install_id = h.install_id
    LEFT JOIN catalogue_measures AS m ON m.name = h.measure
    WHERE h.install_id = $id
    ORDER BY h.measure, h.member NULLS FIRST, h.position_mm, h.station, h.file, h.sheet, h."row", h."column"
"""
_CHECKS = f"""
    SELECT h."check", h.member, h.outcome, {_CHECKED_ON} AS checked_on, h.file, h.sheet, h."row", h."column",
        {WORDS.format(table="d", name='h."check"')} AS words, {_STATE.format(day=_CHECKED_ON, else_="h.state")}
    FROM records.checks_history AS h
    LEFT JOIN reading_windows AS w ON w.install_id = h.install_id
    LEFT JOIN catalogue_deviations AS d ON d.name = h."check"
    WHERE h.install_id = $id
    ORDER BY h."check", h.member NULLS FIRST, h.file, h.sheet, h."row", h."column"
"""
_INSTALL_ROWS = 'SELECT file, sheet, "row", "column", state FROM records.installs_history WHERE install_id = $id'
_CALLBACKS = """
    SELECT l.callback_id, c.reported_on, c.visited_on, c.responsibility, l.how, l.probability,
        (SELECT string_agg(f.fault || ' (' || f.how || ')', ', ' ORDER BY f.fault) FROM coded_callbacks AS f
         WHERE f.callback_id = l.callback_id) AS faults,
        (SELECT min(e.kind) FROM episodes AS e WHERE e.callback_id = l.callback_id) AS kind,
        h.file, h.sheet, h."row", h."column"
    FROM linked_callbacks AS l
    JOIN staged_callbacks AS c ON c.callback_id = l.callback_id
    LEFT JOIN records.callbacks_history AS h ON h.callback_id = l.callback_id AND h.state = 'current'
    WHERE l.install_id = $id ORDER BY c.reported_on, l.callback_id
"""
_FAULTS = f"""
    SELECT e.callback_id, e.fault, e.kind, e.is_answered_for, {fault_words("e.fault")} AS words
    FROM episodes AS e LEFT JOIN catalogue_faults AS fault_kind ON fault_kind.name = e.fault
    WHERE e.install_id = $id ORDER BY e.reported_on, e.callback_id, e.fault
"""
# what accounts for most first, what nothing accounts for last; of what is expected only, no crumbs
_CAUSES = f"""
    SELECT a.callback_id, a.deviation, a.share, a.low, a.high, a.faults, a.value, a.good_value, a.unit, a.unrecorded,
        a.is_recorded, a.evidence, d."do", {WORDS.format(table="d", name="a.deviation")} AS words,
        CASE WHEN a.through IS NOT NULL THEN {WORDS.format(table="t", name="a.through")} END AS through
    FROM callback_causes AS a LEFT JOIN catalogue_deviations AS d ON d.name = a.deviation
        LEFT JOIN catalogue_deviations AS t ON t.name = a.through
    WHERE a.install_id = $id AND (a.share >= 0.01 OR a.evidence IS NULL OR a.evidence IN ('strong', 'suggestive'))
    ORDER BY a.callback_id, a.deviation = 'unexplained', a.share DESC, a.deviation
"""
# What the firm's doors together say of each cause and fault that a share rests on.
_EFFECTS = f"""
    SELECT e.fault, e.deviation, e.doors, e.events, {fault_words("e.fault")} AS words
    FROM effects AS e LEFT JOIN catalogue_faults AS fault_kind ON fault_kind.name = e.fault
    WHERE EXISTS (
        SELECT 1 FROM callback_causes AS a
        WHERE a.install_id = $id AND a.deviation = e.deviation AND list_contains(string_split(a.faults, '; '), e.fault)
    )
    ORDER BY e.deviation, e.fault
"""
# The doors among which to look for what may have been meant: in SQL, since a firm may have a million.
_NEAR = """
    SELECT install_id FROM staged_installs
    ORDER BY levenshtein(lower(left(install_id, 60)), lower(left(?, 60))), install_id LIMIT 50
"""
Row = dict[str, Any]


@dataclass(frozen=True)
class DoorTrail:
    """One door: its facts, and rows of deviations, limits, readings, checks, callbacks, with where each stands.

    limits   every limit that applies to the door, `not recorded` included
    faults   of its callbacks: rows of episodes, one per callback and fault
    causes   of its callbacks: rows of callback_causes
    effects  the firm's doors and first callbacks behind each of those causes
    """

    facts: Row
    rows: list[Row]
    deviations: list[Row]
    limits: list[Row]
    readings: list[Row]
    checks: list[Row]
    callbacks: list[Row]
    faults: list[Row]
    causes: list[Row]
    effects: list[Row]

    def causes_of(self, callback: Row) -> list[Row]:
        """What accounts for one of its callbacks, most first."""
        return [row for row in self.causes if row["callback_id"] == callback["callback_id"]]

    def as_json(self) -> dict[str, Any]:
        """The same for a program; days in ISO form."""
        return {name: _plain(getattr(self, name)) for name in self.__dataclass_fields__}


def door_trail(install_id: str, folder: Path) -> DoorTrail:
    """The trail of one door in the results of a folder.

    Raises UserError where there is no such door; then with the nearest known ones.
    """
    queries = (
        _INSTALL_ROWS, _DEVIATIONS, _LIMITS, _READINGS, _CHECKS, _CALLBACKS, _FAULTS, _CAUSES, _EFFECTS
    )  # fmt: skip
    with _opened(folder) as results:
        facts, codes = ask(results, _FACTS, install_id), published_codes(results, folder)
        coder = Coder(codes)
        if not facts:  # where it is set aside stands in a file that may bear a crew's name
            raise UserError(coder.loose(_unknown(results, install_id)) if codes else _unknown(results, install_id))
        shown = coder.rows if codes else list
        return DoorTrail(shown(facts)[0], *(shown(ask(results, query, install_id)) for query in queries))


@contextmanager
def _opened(folder: Path) -> Iterator["duckdb.DuckDBPyConnection"]:
    with open_results(folder / RESULTS) as results:
        attach(results, folder / RECORDS, "records")
        yield results


def ask(results: "duckdb.DuckDBPyConnection", query: str, install_id: str) -> list[Row]:
    """The rows of a query by the door's number, `$id`."""
    found = results.execute(query, {"id": install_id})
    names = [column[0] for column in found.description or []]
    return [dict(zip(names, row, strict=True)) for row in found.fetchall()]


def _unknown(results: "duckdb.DuckDBPyConnection", install_id: str) -> str:
    waiting = f"door {install_id} is set aside ("  # as what hangs on such a door is told
    reasons = results.execute("SELECT reason FROM set_aside WHERE starts_with(reason, ?) LIMIT 1", [waiting]).fetchall()
    for (reason,) in reasons:
        where = reason.removeprefix(waiting).split(")")[0]
        return f"Door {install_id} is set aside ({where}); correct its row in set_aside.xlsx and run again."
    count = results.execute("SELECT count(*) FROM staged_installs").fetchall()[0][0]
    known = [name for (name,) in results.execute(_NEAR, [install_id]).fetchall()]
    same = [name for name in known if _without_zeros(name) == _without_zeros(install_id)]
    near = same or nearest(install_id, known, cutoff=0.5)
    hint = f"did you mean {' or '.join(near)}?" if near else "give its install_id as the records write it."
    return f"There is no door {install_id} among the {count:,} taken in; {hint}"


def _without_zeros(number: str) -> str:
    """A door's number without the zeros that lead its digits, which people leave out: D-00041 is D-000041."""
    return re.sub(r"(?<!\d)0+(?=\d)", "", number.casefold())


def _plain(value: Any) -> Any:
    if isinstance(value, list):
        return [_plain(one) for one in value]
    if isinstance(value, dict):
        return {name: _plain(one) for name, one in value.items()}
    return value.isoformat() if hasattr(value, "isoformat") else value

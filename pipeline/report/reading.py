"""What the pages need from results.duckdb, read only. Sums and counts are taken in SQL; nothing is estimated here.

Reads one row per pair, crew, step, limit, month or file, and never a table with a row per door or reading as a whole,
so that a firm of a million doors costs what a small one does.
"""

from dataclasses import fields
from pathlib import Path
from types import TracebackType
from typing import Any, TypeVar

import polars as pl

from pipeline.crew_codes import Codes, lay_over
from pipeline.dictionary import dictionary
from pipeline.report.catalogue_words import DEVIATION_WORDS, fault_words
from pipeline.report.numbers import natural
from pipeline.report.rows.change_rows import RUN_CHANGES, RunChange
from pipeline.report.rows.check_rows import CHECKS, ModelCheck
from pipeline.report.rows.completeness_rows import RECORDED_STEPS, RecordedStep
from pipeline.report.rows.crew_step_rows import CREW_STEPS, CrewStep
from pipeline.report.rows.dose_rows import ADVICE, CURVE_POINTS, CurvePoint, LimitAdvice
from pipeline.report.rows.example_rows import EXAMPLES, ExampleDoor
from pipeline.report.rows.first_cause_rows import FIRST_CAUSES, FirstCause
from pipeline.report.rows.intake_rows import (
    ACCOUNT,
    CORRECTIONS,
    DATA_CHECKS,
    EXPECTATION_CHECKS,
    QUOTED_OR_COUNTED,
    REASONS,
    SET_ASIDE,
    UNREAD,
    Correction,
    DataCheck,
    ExpectationCheck,
    FileAccount,
    Reason,
    SetAside,
    UnreadColumn,
)
from pipeline.report.rows.method_rows import BLURS, OTHER_WAYS, Blur, OtherWay
from pipeline.report.rows.outlook_rows import (
    BACKTEST,
    DEVELOPMENT,
    LATE_PAPER,
    OUTLOOK,
    PLAN,
    Cohort,
    LookBack,
    MonthAhead,
    PaperMonth,
    Plan,
)
from pipeline.report.rows.part_rows import PARTS, EffectPart
from pipeline.report.rows.signal_rows import SIGNAL_POINTS, SIGNALS, WATCHED, Signal, SignalPoint, Watched
from pipeline.report.rows.table_rows import (
    CrewOut,
    CrewRate,
    Effect,
    Firm,
    LimitCount,
    Month,
    RecordedShare,
    Tally,
    WeakStep,
)
from pipeline.report.rows.training_rows import TRAINING_EFFECTS, TrainingEffect
from pipeline.report.rows.watch_rows import (
    GAPS,
    LIMITS_IN_USE,
    USUAL_SIDES,
    WATCH_LIST,
    Gap,
    LimitInUse,
    UsualSide,
    WatchedThing,
)
from pipeline.report.rows.year_rows import YEAR_CHANGE, YearChange
from pipeline.warehouse import open_results, row_counts

Row = TypeVar("Row")
FIRM = """
    SELECT
        settings.firm, settings.currency, settings.as_of, settings.callbacks_from,
        installs.doors, installs.crews, installs.first_fitted_on, installs.last_fitted_on,
        (SELECT count(*) FROM staged_callbacks) AS callbacks,
        (SELECT max(run_id) FROM runs) AS run,
        EXISTS (FROM intake_account WHERE record = 'callbacks' AND status <> 'refused')
            OR EXISTS (FROM staged_callbacks) AS has_callback_log
    FROM settings
    CROSS JOIN (
        SELECT count(*) AS doors, count(DISTINCT crew) AS crews,
            min(fitted_on) AS first_fitted_on, max(fitted_on) AS last_fitted_on
        FROM staged_installs
    ) AS installs
"""
EFFECTS = f"""
    SELECT
        effects.*,
        {fault_words("effects.fault")} AS fault_words,
        {DEVIATION_WORDS} AS words, deviation."do", deviation.step_order, deviation.worse,
        deviation.how = 'checks' AS is_check
    FROM effects
    JOIN catalogue_deviations AS deviation ON deviation.name = effects.deviation
    LEFT JOIN catalogue_faults AS fault_kind ON fault_kind.name = effects.fault
    ORDER BY deviation.step_order, deviation.ordinal, effects.fault
"""
LIMITS = f"""
    SELECT limit_comparison.*, {DEVIATION_WORDS} AS words, deviation.step_order
    FROM limit_comparison
    JOIN catalogue_deviations AS deviation ON deviation.name = limit_comparison.deviation
    ORDER BY
        deviation.step_order, deviation.ordinal, limit_comparison.status = 'for comparison', limit_comparison."limit"
"""
WEAK_STEPS = """
    SELECT weak_steps.*, steps.step_order
    FROM weak_steps
    JOIN (SELECT DISTINCT step, step_order FROM catalogue_deviations) AS steps USING (step)
    ORDER BY steps.step_order, weak_steps.crew
"""
CREW_OUTS = f"""
    SELECT crew_outs.crew, crew_outs.deviation, crew_outs.step, crew_outs.doors_recorded AS doors, crew_outs.doors_out,
        (SELECT coalesce(max(other.doors_judged), 0) > 0 FROM crew_outs AS other WHERE other.step = crew_outs.step)
            AS is_step_judged,
        {DEVIATION_WORDS} AS words, deviation."do"
    FROM crew_outs
    JOIN catalogue_deviations AS deviation ON deviation.name = crew_outs.deviation
    WHERE crew_outs.doors_recorded > 0 AND deviation.role NOT IN ('variant', 'record')
    ORDER BY crew_outs.crew, deviation.ordinal
"""
RECORDED = f"""
    SELECT deviation.name AS deviation, {DEVIATION_WORDS} AS words, deviation.step, deviation.step_order,
        deviation.role, deviation.how = 'checks' AS is_check,
        coalesce(sum(crew_outs.doors), 0)::BIGINT AS doors,
        coalesce(sum(crew_outs.doors_recorded), 0)::BIGINT AS doors_recorded,
        coalesce(sum(crew_outs.doors_out), 0)::BIGINT AS doors_out
    FROM catalogue_deviations AS deviation
    LEFT JOIN crew_outs ON crew_outs.deviation = deviation.name
    GROUP BY ALL
    ORDER BY deviation.step_order, min(deviation.ordinal)
"""
RATES = "SELECT * FROM callback_rates ORDER BY crew = 'all' DESC, door_years DESC, crew"
MONTHS = "SELECT * FROM callback_months ORDER BY month"
RESPONSIBILITIES = """
    SELECT responsibility AS name, count(*) AS "rows" FROM staged_callbacks GROUP BY ALL ORDER BY "rows" DESC, name
"""
# A callback with several faults counts once, by the most that any of its faults was.
KINDS = """
    SELECT CASE rank WHEN 1 THEN 'episode' WHEN 2 THEN 'repeat' WHEN 3 THEN 'pre_handover' WHEN 4 THEN 'outside'
            ELSE 'no door' END AS name,
        count(*) AS "rows"
    FROM (
        SELECT min(CASE kind WHEN 'episode' THEN 1 WHEN 'repeat' THEN 2 WHEN 'pre_handover' THEN 3
            WHEN 'outside' THEN 4 ELSE 5 END) AS rank
        FROM staged_callbacks LEFT JOIN episodes USING (callback_id)
        GROUP BY callback_id
    )
    GROUP BY rank ORDER BY rank
"""
LINKED = 'SELECT how AS name, count(*) AS "rows" FROM linked_callbacks GROUP BY ALL ORDER BY "rows" DESC, name'
# Of one callback all faults are keyed, or all from its note, or none is known.
CODED = """
    SELECT CASE WHEN how = 'note' AND fault = 'unclear' THEN 'unclear' ELSE how END AS name,
        count(DISTINCT callback_id) AS "rows"
    FROM coded_callbacks GROUP BY ALL ORDER BY "rows" DESC, name
"""


class Results:
    """results.duckdb, open for reading; use as a context manager."""

    def __init__(self, path: Path, codes: Codes | None = None) -> None:
        """codes: what every crew is shown as, by name; where there are none, by its name."""
        self._connection = open_results(path)
        self.has_codes = bool(codes)
        if codes:
            lay_over(self._connection, codes)

    def __enter__(self) -> "Results":
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._connection.close()

    def table(self, name: str) -> pl.DataFrame:
        """A small result table as a frame, for the file that a page offers: in the order of its key, as in tables/."""
        return self._connection.sql(f'FROM "{name}" {_order(name)}').pl()

    def row_counts(self) -> dict[str, int]:
        """How many rows each table has."""
        return row_counts(self._connection)

    def rows(self, query: str, whole: str, most: int) -> tuple[list[tuple[Any, ...]], int, int]:
        """The first rows of a query, how many it has, and how many there are in `whole`, of which it shows a part."""
        found = self._connection.execute(f"{query} LIMIT {most}").fetchall()
        (shown,), (there,) = (
            self._connection.execute(f"SELECT count(*) FROM {part} AS part").fetchall()[0]
            for part in (f"({query})", whole)
        )
        return found, shown, there

    def set_aside_frame(self) -> pl.DataFrame:
        """The first rows that were set aside as a frame, nothing personal in it."""
        return self._connection.sql(SET_ASIDE).pl()

    def firm(self) -> Firm:
        """Whose records these are."""
        return self._typed(Firm, FIRM)[0]

    def effects(self) -> list[Effect]:
        """Every pair of a fault and a deviation, in step order."""
        return self._typed(Effect, EFFECTS)

    def changes(self) -> list[RunChange]:
        """What is otherwise than in the last run; empty where there was none, or nothing is."""
        return self._typed(RunChange, RUN_CHANGES)

    def first_causes(self) -> list[FirstCause]:
        """What stands first in the callbacks, the most frequent first, what none explains last."""
        return self._typed(FirstCause, FIRST_CAUSES)

    def examples(self) -> list[ExampleDoor]:
        """Doors that show the strongest causes, those that came back first."""
        return self._typed(ExampleDoor, EXAMPLES)

    def curve_points(self) -> list[CurvePoint]:
        """Risk over a deviation, of the pairs with strong evidence, by ascending value."""
        return self._typed(CurvePoint, CURVE_POINTS)

    def limit_advice(self) -> list[LimitAdvice]:
        """Advice on the limits of the pairs with evidence, strong first, in step order."""
        return self._typed(LimitAdvice, ADVICE)

    def other_ways(self) -> list[OtherWay]:
        """What was found, seen in other ways; the surest finding first, each as reported first."""
        return self._typed(OtherWay, OTHER_WAYS)

    def effect_parts(self) -> list[EffectPart]:
        """What was found by crew, material and season; what differs first."""
        return self._typed(EffectPart, PARTS)

    def blurs(self) -> list[Blur]:
        """What the instruments hide of each finding, the least reliable first."""
        return self._typed(Blur, BLURS)

    def model_checks(self) -> list[ModelCheck]:
        """The plain model and its challenger on a later period: all faults first, then the most frequent."""
        return self._typed(ModelCheck, CHECKS)

    def limits(self) -> list[LimitCount]:
        """Every limit with its counts of doors, those for comparison after the ones in use."""
        return self._typed(LimitCount, LIMITS)

    def weak_steps(self) -> list[WeakStep]:
        """Every crew and step, in step order."""
        return self._typed(WeakStep, WEAK_STEPS)

    def crew_outs(self) -> list[CrewOut]:
        """What was recorded and what of it was out, by crew."""
        return self._typed(CrewOut, CREW_OUTS)

    def recorded(self) -> list[RecordedShare]:
        """On how many doors each deviation is recorded, in step order."""
        return self._typed(RecordedShare, RECORDED)

    def recorded_steps(self) -> list[RecordedStep]:
        """On how many doors each crew, and all, recorded each step."""
        return self._typed(RecordedStep, RECORDED_STEPS)

    def rates(self) -> list[CrewRate]:
        """The row `all`, then the crews from most to least watched."""
        return self._typed(CrewRate, RATES)

    def crew_steps(self) -> list[CrewStep]:
        """What went through each step measured, crew by crew, in the order of the work."""
        return self._typed(CrewStep, CREW_STEPS)

    def months(self) -> list[Month]:
        """The trend, oldest month first."""
        return self._typed(Month, MONTHS)

    def outlook(self) -> list[MonthAhead]:
        """The months to come, then all twelve; no row where no door is out."""
        return self._typed(MonthAhead, OUTLOOK)

    def year_change(self) -> YearChange | None:
        """The last twelve months against the twelve before; None where the log does not cover both."""
        return next(iter(self._typed(YearChange, YEAR_CHANGE)), None)

    def late_paper(self) -> list[PaperMonth]:
        """The months seen, oldest first, with the paper on its way."""
        return self._typed(PaperMonth, LATE_PAPER)

    def look_backs(self) -> list[LookBack]:
        """What the outlook would have said on earlier days, the earliest first."""
        return self._typed(LookBack, BACKTEST)

    def development(self) -> list[Cohort]:
        """The chain ladder by cohort, oldest first, then all."""
        return self._typed(Cohort, DEVELOPMENT)

    def plan(self) -> Plan:
        """What the settings say of the months to come."""
        return self._typed(Plan, PLAN)[0]

    def signals(self) -> list[Signal]:
        """Chart points out of control, the latest first."""
        return self._typed(Signal, SIGNALS)

    def signal_points(self) -> list[SignalPoint]:
        """Every point of the charts that alarmed, in the order of time."""
        return self._typed(SignalPoint, SIGNAL_POINTS)

    def charts_watched(self) -> Watched:
        """How many control charts there are."""
        return self._typed(Watched, WATCHED)[0]

    def training_effects(self) -> list[TrainingEffect]:
        """What trainings did: doors out first, then callbacks, in step order, all before single crews."""
        return self._typed(TrainingEffect, TRAINING_EFFECTS)

    def crews(self) -> list[str]:
        """The crews that have a sheet, by name."""
        rows = self._connection.execute("SELECT DISTINCT crew FROM watch_list").fetchall()
        return sorted((row[0] for row in rows), key=natural)

    def watch_list(self) -> list[WatchedThing]:
        """Three things that each crew watches, in the order of the work."""
        return self._typed(WatchedThing, WATCH_LIST)

    def limits_in_use(self) -> list[LimitInUse]:
        """The limits in use, those for all doors before those of one product or material."""
        return self._typed(LimitInUse, LIMITS_IN_USE)

    def gaps(self) -> list[Gap]:
        """The recommended gaps round a frame."""
        return self._typed(Gap, GAPS)

    def usual_sides(self) -> list[UsualSide]:
        """Which way each crew usually errs."""
        return self._typed(UsualSide, USUAL_SIDES)

    def tally(self, of: str) -> list[Tally]:
        """Counts by name; `of` is one of responsibilities, kinds, linked, coded."""
        queries = {"responsibilities": RESPONSIBILITIES, "kinds": KINDS, "linked": LINKED, "coded": CODED}
        return self._typed(Tally, queries[of])

    def reasons(self) -> list[Reason]:
        """Why something was set aside, the most frequent reason first."""
        return self._typed(Reason, REASONS, {"pattern": QUOTED_OR_COUNTED})

    def account(self) -> list[FileAccount]:
        """What became of every file."""
        return self._typed(FileAccount, ACCOUNT)

    def set_aside(self) -> list[SetAside]:
        """The first rows, cells and files that were set aside."""
        return self._typed(SetAside, SET_ASIDE)

    def unread(self) -> list[UnreadColumn]:
        """The columns that nothing is read from, new ones first, those left out knowingly last."""
        return self._typed(UnreadColumn, UNREAD)

    def corrections(self) -> list[Correction]:
        """Every cell that a person corrected, the last one first."""
        return self._typed(Correction, CORRECTIONS)

    def corrections_frame(self) -> pl.DataFrame:
        """The same as a frame."""
        return self._connection.sql(CORRECTIONS).pl()

    def data_checks(self) -> list[DataCheck]:
        """The checks of the records, those that found something first."""
        return self._typed(DataCheck, DATA_CHECKS)

    def expectation_checks(self) -> list[ExpectationCheck]:
        """What came of the expectations, those to look at first."""
        return self._typed(ExpectationCheck, EXPECTATION_CHECKS)

    def _typed(self, kind: type[Row], query: str, values: dict[str, str] | None = None) -> list[Row]:
        names = {part.name for part in fields(kind)}  # type: ignore[arg-type]
        return [kind(**{name: row[name] for name in names}) for row in self._rows_of(query, values)]

    def _rows_of(self, query: str, values: dict[str, str] | None = None) -> list[dict[str, Any]]:
        cursor = self._connection.execute(query, values)
        columns = [column[0] for column in cursor.description or []]
        return [dict(zip(columns, row, strict=True)) for row in cursor.fetchall()]


def _order(table: str) -> str:
    """The clause that gives the same rows the same order in every run; a catalogue comes as it was written."""
    if table.startswith("catalogue_"):
        return ""
    entry = dictionary().get(table)
    key = ", ".join(f'"{column}"' for column in entry.key) if entry else ""
    return f"ORDER BY {key or 'ALL'}"

"""The part of the records sheet that says how completely each crew records each step."""

from pipeline.report.downloads import download
from pipeline.report.numbers import as_name, count, percent
from pipeline.report.reading import Results
from pipeline.report.rows.completeness_rows import RecordedStep
from pipeline.report.rows.table_rows import LEAST_DOORS
from pipeline.report.sheet import Block, Table
from pipeline.report.words import completeness as words

MOST_CREWS = 60
HOW = (
    "Share of a crew's doors with anything recorded in the step, a reading or a check, and how many doors that is. Not "
    "recorded is never taken as good: nothing can be said of that work. Ask a crew that stays behind to record a few "
    "things on every door, not everything on some."
)


def completeness_table(results: Results) -> list[Block]:
    """The crews down, the steps across, the firm first; nothing without doors."""
    steps = results.recorded_steps()
    if not steps:
        return []
    firm, crews = words.of_firm(steps), words.by_crew(steps)
    rows = [_cells("all crews", firm), *(_cells(as_name(crew), crews[crew]) for crew in list(crews)[:MOST_CREWS])]
    left = f" Here stand the {MOST_CREWS} crews with most doors." if len(crews) > MOST_CREWS else ""
    columns = ("crew", "doors", *(step.step for step in firm))
    saved = download("recorded_steps", results.table("recorded_steps"))
    numeric = frozenset(range(1, len(columns)))
    return [Table("completeness", words.says(steps), columns, tuple(rows), HOW + left, numeric, saved, is_open=True)]


def _cells(crew: str, steps: list[RecordedStep]) -> tuple[str, ...]:
    return (crew, count(steps[0].doors), *map(_cell, steps))


def _cell(step: RecordedStep) -> str:
    if step.doors < LEAST_DOORS:
        return f"{count(step.doors_recorded)} of {count(step.doors)}"  # of so few a share says more than is known
    return f"{percent(step.recorded_share)} · {count(step.doors_recorded)}"

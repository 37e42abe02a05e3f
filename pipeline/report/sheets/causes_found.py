"""The table that the causes sheet opens with: fault, root cause, how sure, what it costs, and its limit."""

from pipeline.report.numbers import count
from pipeline.report.rows.table_rows import Effect
from pipeline.report.sheet import Table
from pipeline.report.words import causes_found as words
from pipeline.report.words.causes import base_of

MOST = 12


def found_table(effects: list[Effect], advice: words.Advice) -> list[Table]:
    """The table; nothing where no cause is shown or hinted at."""
    found = words.shown(effects)
    if not found:
        return []
    rows = tuple(words.cells(effect, advice.get((effect.fault, effect.deviation))) for effect in found[:MOST])
    more = f" Here stand the first {count(MOST)} of {count(len(found))}." if len(found) > MOST else ""
    says = words.says(found, advice)
    how = f"{words.HOW}{more} {base_of(effects)}".strip()
    return [Table("found", says, words.COLUMNS, rows, how, is_open=True)]

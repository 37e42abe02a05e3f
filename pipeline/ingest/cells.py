"""Judges text cells a column at a time: each distinct text once, however many rows hold it.

Takes text columns, gives typed columns and, beside each, its text and what is wrong. Never sees more than one column.
"""

from collections.abc import Callable
from typing import Any

import polars as pl

from pipeline.ingest.dates import judge_day
from pipeline.ingest.numbers import bounds_problem, judge_number, judge_whole
from pipeline.ingest.records import DAY, NUMBER, PLACE, TEXT, UNIT, WHOLE, WORD, WORDS, Column
from pipeline.ingest.words import WordList, known_place

Verdict = tuple[Any, str | None]
Verdicts = Callable[[str], Verdict]

TYPES: dict[str, pl.DataType] = {NUMBER: pl.Float64(), WHOLE: pl.Int32(), DAY: pl.Date()}
BLANKS = " \t\r\n\u00a0\u200b\ufeff"
# Text that a spreadsheet would take for a formula gets an apostrophe in our own CSV; on the way back it goes.
_GUARDED = r"^'([=+\-@\t\r])"


def problem_of(name: str) -> str:
    """The column that says what is wrong with a cell of `name`; null where nothing is."""
    return f"problem of {name}"


def text_of(name: str) -> str:
    """The column that holds the text a cell of `name` was read from."""
    return f"text of {name}"


def cleaned(name: str) -> pl.Expr:
    """A text column without blanks around, without the apostrophe of our own CSV; an empty text is null."""
    return pl.col(name).str.strip_chars(BLANKS).str.replace(_GUARDED, "$1").replace("", None)


def judged(frame: pl.DataFrame, column: Column, lists: dict[str, WordList]) -> pl.DataFrame:
    """The frame with text column `column` typed, and beside it its text and its problem."""
    name = column.name
    frame = frame.with_columns(cleaned(name).alias(text_of(name))).drop(name)
    if column.kind in (TEXT, UNIT):
        return frame.with_columns(pl.col(text_of(name)).alias(name), pl.lit(None, pl.String).alias(problem_of(name)))
    texts = frame[text_of(name)].unique().drop_nulls().to_list()
    verdict = _verdicts(column, lists)
    verdicts = [verdict(text) for text in texts]
    answers = pl.DataFrame(
        {
            text_of(name): pl.Series(texts, dtype=pl.String),
            name: pl.Series([value for value, _ in verdicts], dtype=TYPES.get(column.kind, pl.String())),
            problem_of(name): pl.Series([problem for _, problem in verdicts], dtype=pl.String),
        }
    )
    return frame.join(answers, on=text_of(name), how="left", maintain_order="left")


def _verdicts(column: Column, lists: dict[str, WordList]) -> Verdicts:
    if column.kind == DAY:
        return judge_day
    if column.kind == WORD:
        return lists[column.list_name].judge
    if column.kind == WORDS:
        return lists[column.list_name].judge_several
    if column.kind == PLACE:
        return lambda text: (known_place(text), None)
    return _within(judge_number if column.kind == NUMBER else judge_whole, column)


def _within(judge: Callable[[str], Verdict], column: Column) -> Verdicts:
    def verdict(text: str) -> Verdict:
        number, problem = judge(text)
        problem = problem or bounds_problem(number, column.low, column.high)
        # adding zero turns -0.0 into 0.0, so that equal numbers are equal rows
        return (None, problem) if problem else (number + 0, None)

    return verdict

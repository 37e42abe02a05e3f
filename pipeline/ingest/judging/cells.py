"""Judges text cells a column at a time: each distinct text once, however many rows hold it.

Takes text columns, gives typed columns and, beside each, its text, how it was read and what is wrong. Never sees more
than one column.
"""

import re
from collections.abc import Iterable, Iterator
from typing import Any

import polars as pl

from pipeline.books import GUARDED
from pipeline.ingest.judging.sizes import SizeJudge
from pipeline.ingest.judging.verdicts import Verdict, Verdicts
from pipeline.ingest.records import DAY, NUMBER, NUMBERS_OF, PLACE, TEXT, UNIT, WHOLE, WORD, WORDS, Column
from pipeline.ingest.texts.manners import Manners
from pipeline.ingest.texts.marks import Mark, doubtful_mark
from pipeline.ingest.texts.not_said import OF_PEOPLE, OF_PROGRAMS
from pipeline.ingest.texts.numbers import WITHIN_RULE, bounds_problem, digits_of, judge_whole, read_number, says_within
from pipeline.ingest.texts.words import LEAF_WORDS, WordList, known_place

TYPES: dict[str, pl.DataType] = {NUMBER: pl.Float64(), WHOLE: pl.Int32(), DAY: pl.Date()}
BLANKS = " \t\r\n\u00a0\u200b\ufeff"
# Numbers whose unit stands in a column of its own, so that row and unit are judged together.
WITH_UNIT = ("value", "max_error")
# Stands for a cell that holds no text, number or day: a list, an object, bytes.
NOT_A_TEXT = "(not a text)"
_NO_TEXT = "this holds a list, an object or bytes; write one text or number"
_WRITTEN = "as written"
# A count of leaves with what is counted behind it: 4 leaf, 5 no., 3 panels.
_COUNTED = re.compile(
    rf"(\d{{1,2}})\s*(?:no\.?|nr\.?|off|x)?\s*(?:{LEAF_WORDS}|doors?)?",
    re.ASCII | re.IGNORECASE,
)
# Readers give the decimals of a typed cell an exponent, which nobody wrote.
_TYPED = r"^([+-]?\d+\.\d+)e0$"


def typed_number(text: str) -> str:
    """A text without the exponent that readers give the decimals of a typed cell."""
    return re.sub(_TYPED, r"\1", text)


def problem_of(name: str) -> str:
    """The column that says what is wrong with a cell of `name`; null where nothing is."""
    return f"problem of {name}"


def text_of(name: str) -> str:
    """The column that holds the text a cell of `name` was read from."""
    return f"text of {name}"


def cell_of(name: str) -> str:
    """The column that holds what stands in the cell of which a mapping made the text of `name`."""
    return f"cell of {name}"


def rule_of(name: str) -> str:
    """The column that says how a cell of `name` was read; null where it is plain."""
    return f"rule of {name}"


def unit_in(name: str) -> str:
    """The column that holds the unit written in a cell of the number `name`; null where none is."""
    return f"unit in {name}"


def side_in(name: str) -> str:
    """The column that holds the word, other than a unit, beside the number in a cell of `name`."""
    return f"side in {name}"


def in_doubt(name: str) -> str:
    """The column that holds, of a number of `name` that can be two, what it is with decimals; null where it is none."""
    return f"doubt in {name}"


def is_fraction(name: str) -> str:
    """The column that says whether a cell of the number `name` is written as a fraction."""
    return f"fraction in {name}"


def cleaned(name: str) -> pl.Expr:
    """A text column without blanks around, without the apostrophe of our own CSV; what stands for nothing is null."""
    return _bare(name).replace(["", *OF_PROGRAMS], None)


def text_said(column: Column, name: str) -> pl.Expr:
    """The text column in `name`, cleaned; of numbers of doors, jobs and calls what people write for none is null."""
    text = cleaned(name)
    return pl.when(~text.str.to_lowercase().is_in(OF_PEOPLE)).then(text) if column.name in NUMBERS_OF else text


def as_written(name: str) -> pl.Expr:
    """A text column as a person wrote it, without what readers add to the decimals of a typed cell; empty is null."""
    return _bare(name).str.replace(_TYPED, "$1").replace("", None)


def _bare(name: str) -> pl.Expr:
    return pl.col(name).str.strip_chars(BLANKS).str.replace(GUARDED, "$1")


def judged(
    frame: pl.DataFrame, columns: Iterable[Column], lists: dict[str, WordList], manners: Manners
) -> pl.DataFrame:
    """The frame with text columns typed, and beside each its text, its rule and its problem."""
    texts = [column for column in columns if column.kind in (TEXT, UNIT)]
    frame = _texts_judged(frame, texts)
    for column in columns:
        if column not in texts:
            frame = _each_text_judged(frame, column, lists, manners)
    return frame


def _texts_judged(frame: pl.DataFrame, columns: list[Column]) -> pl.DataFrame:
    """Judges columns of free text. In two steps: columns made of a text in one step would each work it out anew."""
    said = [text_said(column, column.name).str.replace(_TYPED, "$1").alias(text_of(column.name)) for column in columns]
    return frame.with_columns(said).with_columns(answer for column in columns for answer in _of_text(column))


def _of_text(column: Column) -> Iterator[pl.Expr]:
    nothing, text = pl.lit(None, pl.String), pl.col(text_of(column.name))
    is_none = text == NOT_A_TEXT if column.kind == TEXT else pl.lit(False)
    yield pl.when(is_none).then(nothing).otherwise(text).alias(column.name)
    yield nothing.alias(rule_of(column.name))
    yield pl.when(is_none).then(pl.lit(_NO_TEXT)).alias(problem_of(column.name))


def _each_text_judged(
    frame: pl.DataFrame, column: Column, lists: dict[str, WordList], manners: Manners
) -> pl.DataFrame:
    """Judges each distinct text of a column once."""
    name = column.name
    texts = frame.select(pl.col(name).unique()).select(pl.col(name).alias(_WRITTEN), cleaned(name).alias(text_of(name)))
    texts = texts.drop_nulls(text_of(name))
    verdict = _verdicts(column, lists, manners)
    verdicts = [Verdict(None, _NO_TEXT) if text == NOT_A_TEXT else verdict(text) for text in texts[text_of(name)]]
    answers = texts.with_columns(_answers(column, verdicts))
    if column.kind == NUMBER:
        answers = answers.with_columns(pl.col(text_of(name)).str.replace(_TYPED, "$1"))
    frame = frame.rename({name: _WRITTEN}).join(answers, on=_WRITTEN, how="left", maintain_order="left")
    return frame.drop(_WRITTEN)


def _answers(column: Column, verdicts: list[Verdict]) -> list[pl.Series]:
    name = column.name
    kind = TYPES.get(column.kind, pl.String())
    answers = [
        pl.Series(name, [one.value for one in verdicts], dtype=kind),
        pl.Series(rule_of(name), [one.rule for one in verdicts], dtype=pl.String),
        pl.Series(problem_of(name), [one.problem for one in verdicts], dtype=pl.String),
    ]
    if name in WITH_UNIT:
        answers += [
            pl.Series(unit_in(name), [one.unit for one in verdicts], dtype=pl.String),
            pl.Series(side_in(name), [one.side for one in verdicts], dtype=pl.String),
            pl.Series(is_fraction(name), [one.is_fraction for one in verdicts], dtype=pl.Boolean),
            pl.Series(in_doubt(name), [one.in_doubt for one in verdicts], dtype=pl.Float64),
        ]
    return answers


def _verdicts(column: Column, lists: dict[str, WordList], manners: Manners) -> Verdicts:
    if column.kind == DAY:
        order = manners.order(column.name)
        return lambda text: _of_day(*order.judge(text))
    if column.kind in (WORD, WORDS):
        return _of_words(column, lists[column.list_name])
    if column.kind == PLACE:
        return lambda text: Verdict(known_place(text))
    if column.name in WITH_UNIT:
        return _number_with_unit(column, manners)
    return SizeJudge(column, manners).judge if column.kind == NUMBER else _whole(column, manners)


def _of_day(day: Any, rule: str | None, problem: str | None) -> Verdict:
    return Verdict(day, problem, rule)


def _of_words(column: Column, words: WordList) -> Verdicts:
    judge = words.judge if column.kind == WORD else words.judge_several

    def verdict(text: str) -> Verdict:
        word, problem = judge(text)
        return Verdict(word, problem, words.rule(text) if word else None)

    return verdict


def _whole(column: Column, manners: Manners) -> Verdicts:
    def verdict(text: str) -> Verdict:
        counted = _COUNTED.fullmatch(text) if column.name == "leaves" else None
        number, problem = judge_whole(counted[1] if counted else text, manners.mark(column.name))
        problem = problem or bounds_problem(number or 0, column.low, column.high)
        return Verdict(None, problem) if problem else Verdict(number)

    return verdict


def _as_decimal(text: str, problem: str | None) -> Verdict:
    """A reading that its column does not tell: with it goes what it would be with decimals, where it can be that."""
    mark = doubtful_mark(digits_of(text))
    number, _ = read_number(text, Mark(mark)) if mark else (None, None)
    if number is None:
        return Verdict(None, problem)
    return Verdict(None, problem, None, number.unit, number.side, in_doubt=number.value)


def _number_with_unit(column: Column, manners: Manners) -> Verdicts:
    def verdict(text: str) -> Verdict:
        if column.name == "value" and says_within(text):
            return Verdict(None, None, WITHIN_RULE)
        # a largest error is a size, so the sign before it is of both kinds
        written = text.removeprefix("±").removeprefix("+/-").strip() if column.name == "max_error" else text
        mark = manners.mark(column.name)
        number, problem = read_number(written, mark)
        if number is None and mark.decimal is None and column.name == "value":
            return _as_decimal(text, problem)
        problem = problem or (bounds_problem(number.value, column.low, column.high) if number else None)
        if number is None or problem:
            return Verdict(None, problem)
        # adding zero turns -0.0 into 0.0, so that equal numbers are equal rows
        rule = number.rule if written == text else "the size of an error"
        return Verdict(number.value + 0, None, rule, number.unit, number.side, number.is_fraction)

    return verdict

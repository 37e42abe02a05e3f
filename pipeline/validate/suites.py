"""Evaluates expectations table by table and says each outcome in a sentence.

What cannot be evaluated, or has no row to look at, is an outcome of its own and never a failed check.
"""

import json
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

import polars as pl

from pipeline.errors import as_sentence, did_you_mean
from pipeline.validate.library import NotEvaluated, validator_of

MET, NOT_MET, EMPTY, NOT_EVALUATED = "met", "not met", "nothing to check", "not evaluated"
COLUMN_ARGUMENTS = ("column", "column_A", "column_B", "column_list")
_DAY = re.compile(r"\d{4}-\d{2}-\d{2}")


@dataclass(frozen=True)
class Outcome:
    """What came of one expectation; counts are of rows that it looked at, empty where it looks at the whole table.

    example  the key of the first row that is otherwise
    """

    outcome: str
    sentence: str
    rows_checked: int | None = None
    rows_failing: int | None = None
    example: str | None = None


def evaluated(expectations: list[dict[str, Any]], tables: dict[str, pl.DataFrame]) -> list[Outcome]:
    """One outcome for each expectation, in their order.

    expectations  rows with name, table, expect, arguments (JSON), words, is_own
    tables        the rows by the name that expectations call them; the first column is their key
    """
    outcomes: dict[int, Outcome] = {}
    for table in dict.fromkeys(row["table"] for row in expectations):
        asked = {place: row for place, row in enumerate(expectations) if row["table"] == table}
        # one table after another, each only as wide as it is asked for: they are copied for the library
        judge = _Judge(table, tables[table], list(asked.values()))
        outcomes |= {place: judge.outcome(row) for place, row in asked.items()}
    return [outcomes[place] for place in range(len(expectations))]


class _Judge:
    """Judges expectations on one table."""

    def __init__(self, table: str, frame: pl.DataFrame, expectations: list[dict[str, Any]]) -> None:
        self._table, self._frame = table, frame
        copied = frame.select(_columns_asked_for(expectations, frame.columns)).to_pandas()
        self._validate: Callable[[str, dict[str, Any]], Any] = validator_of(copied)

    def outcome(self, row: dict[str, Any]) -> Outcome:
        """Met, not met, nothing to check, or not evaluated."""
        try:
            keywords = self._keywords(json.loads(row["arguments"]))
            result = self._validate(row["expect"], keywords)
        except NotEvaluated as error:
            place = f"; correct [[expectation]] {row['name']} in fitback.toml" if row["is_own"] else ""
            sentence = f"Could not be evaluated, so it says nothing about the records: {row['name']} ({error}){place}."
            return Outcome(NOT_EVALUATED, sentence)
        found = result.result
        if self._is_empty(row["expect"], found):
            return Outcome(EMPTY, f"Nothing to check: {row['name']}.")
        if "unexpected_count" not in found:
            return _whole(row, bool(result.success), found.get("observed_value"))
        return self._counted(row, bool(result.success), found)

    def _keywords(self, arguments: dict[str, Any]) -> dict[str, Any]:
        columns = [arguments[key] for key in COLUMN_ARGUMENTS if key in arguments]
        for name in [name for part in columns for name in (part if isinstance(part, list) else [part])]:
            if name not in self._frame.columns:
                hint = did_you_mean(str(name), self._frame.columns)
                raise NotEvaluated(f"{self._table} has no column '{name}'{hint.rstrip('?')}")
        return {key: self._midnight(value, columns) for key, value in arguments.items()}

    def _midnight(self, value: Any, columns: list[Any]) -> Any:
        """A day as the moment it begins: pandas holds days as moments and compares them with nothing else."""
        is_day = isinstance(value, str) and _DAY.fullmatch(value)
        names = [name for name in columns if isinstance(name, str)]
        return f"{value}T00:00:00" if is_day and any(self._frame[name].dtype == pl.Date for name in names) else value

    def _is_empty(self, expect: str, found: dict[str, Any]) -> bool:
        if expect.startswith("expect_table_"):
            return False
        if self._frame.is_empty():
            return True
        if "unexpected_count" in found:
            return found.get("element_count", 0) == found.get("missing_count", 0)
        return "observed_value" in found and found["observed_value"] is None

    def _counted(self, row: dict[str, Any], is_met: bool, found: dict[str, Any]) -> Outcome:
        checked = int(found["element_count"]) - int(found.get("missing_count", 0))
        failing = int(found["unexpected_count"])
        places = found.get("partial_unexpected_index_list") or []
        example = str(self._frame[int(places[0]), 0]) if places else None
        of_how_many = f"{failing:,} of {checked:,}"
        if is_met:
            allowed = f"; {of_how_many} are otherwise, which is allowed" if failing else ""
            sentence = f"As expected, {checked:,} looked at: {row['name']}{allowed}."
        else:
            words = row["words"] or f"rows of {self._table} are otherwise than expected: {row['name']}"
            sentence = as_sentence(f"{of_how_many} {words}")
        return Outcome(MET if is_met else NOT_MET, sentence, checked, failing, example)


def _columns_asked_for(expectations: list[dict[str, Any]], there: list[str]) -> list[str]:
    """The columns that expectations name; all where one is on the table's columns, or names some in a condition."""
    if any(row["expect"].startswith("expect_table_column") or "condition" in row["arguments"] for row in expectations):
        return there
    named = {text for row in expectations for text in _texts(json.loads(row["arguments"]))}
    return [name for name in there if name in named] or there[:1]


def _texts(arguments: Any) -> Iterator[str]:
    """Every text among the arguments, however deep."""
    if isinstance(arguments, dict):
        arguments = list(arguments.values())
    if isinstance(arguments, list):
        for each in arguments:
            yield from _texts(each)
    elif isinstance(arguments, str):
        yield arguments


def _whole(row: dict[str, Any], is_met: bool, observed: Any) -> Outcome:
    """The outcome of an expectation on the table or column as a whole."""
    shown = f"{observed:,.6g}" if isinstance(observed, int | float) else str(observed)[:80]
    found = f" (found: {shown})" if observed is not None else ""
    if is_met:
        return Outcome(MET, f"As expected: {row['name']}{found}.")
    why = f": {row['words']}" if row["words"] else ""
    return Outcome(NOT_MET, as_sentence(f"Not as expected, {row['name']}{found}{why}"))

"""Outcomes that a [[sheet]] table itself says: told of the table, since they would be wrong in every row."""

from collections.abc import Iterator

from pipeline.errors import UserError
from pipeline.ingest.declared.mapping import VALUE_COLUMNS, RecordMap, SheetMap, Source
from pipeline.ingest.records import CHECKS
from pipeline.ingest.texts.words import WordList
from pipeline.settings import SETTINGS_FILE


def with_known_outcomes(maps: tuple[SheetMap, ...], outcomes: WordList) -> tuple[SheetMap, ...]:
    """The maps as they are. outcomes: what may be said of a check.

    Raises UserError, one sentence that names the table and the key, for any other outcome.
    """
    for number, sheet_map in enumerate(maps, start=1):
        checks = sheet_map.map_of(CHECKS.name)
        for key, text in _said(checks) if checks else ():
            _, problem = outcomes.judge(text)
            if problem:
                where = f"[[sheet]] {number} ({sheet_map.file}), {CHECKS.name}"
                raise UserError(f"{SETTINGS_FILE}, {where}: {key}: {problem}.")
    return maps


def _said(checks: RecordMap) -> Iterator[tuple[str, str]]:
    """(key, outcome) of all that the table says."""
    value = VALUE_COLUMNS[CHECKS.name]
    source = dict(checks.columns).get(value, Source())
    yield from (("words", meant) for _, meant in (*checks.words, *source.words))
    yield from (("marks", meant) for _, meant in source.marks)
    yield from ((value, text) for one in checks.each for name, text in one.fixed if name == value)
    if source.always:
        yield value, source.always

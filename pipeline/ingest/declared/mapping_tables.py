"""Reads the [[sheet]] tables of fitback.toml. Checks every word of them; never opens a sheet."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from pipeline.ingest.declared import look_ups
from pipeline.ingest.declared.mapping import (
    LINES,
    ROW_NUMBER,
    SHEET_NAME,
    VALUE_COLUMNS,
    Each,
    RecordMap,
    SheetMap,
    Source,
    folded,
)
from pipeline.ingest.declared.toml_values import as_flag, as_text, as_texts, or_keys, wrong
from pipeline.ingest.declared.totals import TOTALS
from pipeline.ingest.records import CALLBACKS, CHECKS, READINGS, RECORDS, TRAINING, Record, record_named
from pipeline.settings import sheet_tables

_SHEET_KEYS = (
    "file", "sheet", "form", "at_foot", "begins_with", "across", "several_tables", "header_rows", "fill_down", "skip",
    "ignore", "not_placed", "leave_out",
)  # fmt: skip
_SOURCE_KEYS = (
    "column", "marks", "part", "join", "with", "always", "unit", "unit_column", "words", "prefix", "from", "after",
    "above", "sign", *look_ups.KEYS,
)  # fmt: skip
_SPECIAL = {
    READINGS.name: ("each", "item", "share_of"),
    CHECKS.name: ("each", "item", "words"),
    TRAINING.name: ("each",),
    CALLBACKS.name: ("each",),
}
_TABLES = {"words": '{ "cill level" = "sill_height" }', "marks": '{ "OK" = "pass", "Not OK" = "fail" }'}
_EACH_KEYS = ("column", "item", "share", "of", "unit_column", "position_column", "sign", "bare_unit", "part", "low")
# So many readings may stand in one cell.
_MOST_PARTS = 20
_SIGNS = {"+": False, "-": True}
_LOW_ENDS = ("left", "right")


def read_mapping(folder: Path) -> tuple[SheetMap, ...]:
    """The [[sheet]] tables of a folder's fitback.toml; none without the file.

    Raises UserError, one sentence that names the table and the key, for what cannot be meant.
    """
    return parse_mapping(sheet_tables(folder))


def parse_mapping(tables: list[dict[str, Any]]) -> tuple[SheetMap, ...]:
    """The same for tables as parsed."""
    return tuple(_sheet(number, table) for number, table in enumerate(tables, start=1))


def _sheet(number: int, table: dict[str, Any]) -> SheetMap:
    names = [record.name for record in RECORDS]
    where = f"[[sheet]] {number}" + (f" ({table['file']})" if isinstance(table.get("file"), str) else "")
    for key in table:
        if key not in _SHEET_KEYS and key not in names:
            raise wrong(where, f"'{key}' is not known{or_keys(key, [*_SHEET_KEYS, *names])}")
    if not isinstance(table.get("file"), str) or not table["file"].strip():
        raise wrong(where, 'file is missing; write file = "site sheets*.xlsx" or another name or pattern.')
    records = tuple(_record_map(f"{where}, {name}", record_named(name), table[name]) for name in names if name in table)
    if not records:
        raise wrong(where, f"it makes no record; add [sheet.installs], or one of {', '.join(names)}.")
    header_rows = table.get("header_rows", 1)
    if header_rows not in (1, 2, 3) or isinstance(header_rows, bool):
        raise wrong(where, f"header_rows = {header_rows} must be 1, 2 or 3.")
    return SheetMap(
        file=table["file"],
        records=records,
        sheet=as_text(where, "sheet", table.get("sheet", "*")),
        form=as_flag(where, "form", table.get("form", False)),
        at_foot=_at_foot(where, table),
        begins_with=_begins_with(where, table),
        across=as_flag(where, "across", table.get("across", False)),
        is_part=as_flag(where, "several_tables", table.get("several_tables", False)),
        header_rows=header_rows,
        fill_down=tuple(map(folded, as_texts(where, "fill_down", table.get("fill_down", [])))),
        skip=as_texts(where, "skip", table.get("skip", list(TOTALS))),
        leave_out=_kinds(where, table.get("leave_out", {})),
        ignore=tuple(map(folded, as_texts(where, "ignore", table.get("ignore", [])))),
        not_placed=tuple(map(folded, as_texts(where, "not_placed", table.get("not_placed", [])))),
        spelt=tuple({folded(text): text for text in (*table.get("leave_out", ()), *_all_texts(table))}.items()),
    )


def _begins_with(where: str, table: dict[str, Any]) -> str:
    """The label that begins each of the forms of a sheet."""
    if "begins_with" in table and not table.get("form"):
        raise wrong(where, "begins_with goes with form = true; add it, or take begins_with out.")
    return folded(as_text(where, "begins_with", table["begins_with"])) if "begins_with" in table else ""


def _at_foot(where: str, table: dict[str, Any]) -> bool:
    """Whether a table stands at the foot of each form."""
    is_at_foot = as_flag(where, "at_foot", table.get("at_foot", False))
    if is_at_foot and table.get("form"):
        raise wrong(where, "at_foot is for the table at the foot of a form; write the form in a [[sheet]] of its own.")
    return is_at_foot


def _kinds(where: str, value: object) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Headings, and the cells under each whose rows are left out."""
    if not isinstance(value, dict):
        raise wrong(where, 'leave_out must be a table such as { "Type" = ["Sales enquiry"] }.')
    return tuple((folded(name), tuple(map(folded, as_texts(where, name, texts)))) for name, texts in value.items())


def _all_texts(value: object) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict | list):
        for one in value.values() if isinstance(value, dict) else value:
            yield from _all_texts(one)


def _record_map(where: str, record: Record, table: object) -> RecordMap:
    if not isinstance(table, dict):
        raise wrong(where, f"it must be a table of its own: [sheet.{record.name}].")
    known = [column.name for column in record.columns]
    special = _SPECIAL.get(record.name, ())
    for key in table:
        if key not in known and key not in special:
            raise wrong(where, f"'{key}' is not a column of {record.name}{or_keys(key, [*known, *special])}")
    columns = tuple((name, _source(f"{where}, {name}", table[name])) for name in known if name in table)
    if record is CALLBACKS and "each" in table:
        groups = tuple(_group(where, record, row) for row in _rows(where, table["each"]))
        for group in groups:
            if twice := next((name for name, _ in group if name in table), None):
                raise wrong(where, f"{twice} stands in each and beside it; keep one.")
            _check_complete(where, record, (*columns, *group), (), has_items=False)
        return RecordMap(record.name, columns, groups=groups)
    each = tuple(_each(where, record, row) for row in _rows(where, table.get("each", [])))
    items = _items(where, table["item"]) if "item" in table else ()
    share_of = _source(f"{where}, share_of", table["share_of"]) if "share_of" in table else None
    _check_complete(where, record, columns, each, bool(items))
    _check_once(where, each)
    if share_of is None and any(one.share is not None and one.of is None for one in each):
        raise wrong(where, 'share needs share_of, the column of the whole length, such as share_of = "Width".')
    return RecordMap(record.name, columns, each, items, share_of, _words(where, "words", table.get("words", {})))


def _group(where: str, record: Record, row: object) -> tuple[tuple[str, Source], ...]:
    """One of several callbacks of a row: its columns, as those of the record are written."""
    if not isinstance(row, dict) or not row:
        raise wrong(where, 'every line of each is one call of a row, such as { reported_on = "1st call", ... }.')
    known = [column.name for column in record.columns]
    for key in row:
        if key not in known:
            raise wrong(where, f"'{key}' is not a column of {record.name}{or_keys(key, known)}")
    return tuple((name, _source(f"{where}, {name}", row[name])) for name in known if name in row)


def _check_once(where: str, each: tuple[Each, ...]) -> None:
    """Every column or item stands once in each; a column of cells with several numbers once for every one of them."""
    named = [(one.heading or one.item, one.part) for one in each]
    if twice := next(((name, part) for name, part in named if named.count((name, part)) > 1), None):
        of = f" with part = {twice[1]}" if twice[1] else ""
        raise wrong(where, f"'{twice[0]}' stands twice in each{of}; keep one.")
    whole = next((name for name, part in named if not part and any(n == name and p for n, p in named)), None)
    if whole is not None:
        raise wrong(where, f"'{whole}' stands in each with part and without; write part in every line of it.")


def _items(where: str, value: object) -> tuple[str, ...]:
    """The heading of the column of items, or of the columns that name an item together."""
    names = as_texts(where, "item", value) if isinstance(value, list) else (as_text(where, "item", value),)
    if not names:
        raise wrong(where, "item is empty; name the column of items.")
    return tuple(map(folded, names))


def _check_complete(
    where: str, record: Record, columns: tuple[tuple[str, Source], ...], each: tuple[Each, ...], has_items: bool
) -> None:
    """Every required column comes from somewhere, in every reading or check of a row."""
    given = {name for name, _ in columns}
    for one in each or (Each(None, None, ()),):
        had = given | {name for name, _ in one.fixed} | ({VALUE_COLUMNS[record.name]} if one.heading else set())
        had |= {"unit"} if one.unit_heading or one.bare_unit else set()
        missing = [name for name in record.required if name not in had]
        if missing and not (has_items and record.name in VALUE_COLUMNS):
            of = f" of '{one.heading}'" if one.heading else ""
            raise wrong(where, f"{missing[0]}{of} is missing; add {missing[0]} = 'its heading'.")
        if one.item is not None and not has_items:
            raise wrong(where, f"'{one.item}' is an item, and item = is missing; name the column of items.")


def _source(where: str, value: object) -> Source:
    if isinstance(value, str):
        return Source(heading=folded(value))
    if not isinstance(value, dict):
        raise wrong(where, 'write the heading, such as "Door ref", or { always = "..." }.')
    _check_source(where, value)
    joined = tuple(map(folded, as_texts(where, "join", value["join"]))) if "join" in value else ()
    if "join" in value and len(joined) < 2:
        raise wrong(where, 'join needs at least two headings, such as ["First name", "Surname"].')
    return Source(
        heading=folded(as_text(where, "column", value["column"])) if "column" in value else next(iter(joined), None),
        always=as_text(where, "always", value["always"]) if "always" in value else None,
        unit=as_text(where, "unit", value["unit"]) if "unit" in value else None,
        words=_words(where, "words", value.get("words", {})),
        prefix=as_text(where, "prefix", value.get("prefix", "")),
        sheet_name=value.get("from") == SHEET_NAME,
        above=folded(as_text(where, "above", value["above"])) if "above" in value else None,
        unit_heading=folded(as_text(where, "unit_column", value["unit_column"])) if "unit_column" in value else None,
        joined=joined[1:],
        between=as_text(where, "with", value.get("with", " ")),
        from_row=value.get("from") == ROW_NUMBER,
        from_lines=value.get("from") == LINES,
        after=folded(as_text(where, "after", value.get("after", ""))),
        part=value.get("part", 0),
        marks=_words(where, "marks", value.get("marks", {})),
        is_turned=_is_turned(where, value),
        look_up=look_ups.look_up_of(where, value),
    )


def _check_source(where: str, value: dict[str, object]) -> None:
    """Raises UserError where a table that says what a column is read from has keys or words that it cannot have."""
    for key in value:
        if key not in _SOURCE_KEYS:
            raise wrong(where, f"'{key}' is not known{or_keys(key, list(_SOURCE_KEYS))}")
    if sum(key in value for key in ("column", "join", "marks", "always", "from", "above", "look_up")) != 1:
        raise wrong(where, "write exactly one of column, join, marks, always, from, above and look_up.")
    if value.get("from", SHEET_NAME) not in (SHEET_NAME, ROW_NUMBER, LINES):
        raise wrong(
            where,
            'from must be "sheet", the name of the sheet, "line", a line of text over the rows, or "row", a number '
            "made of what the row says.",
        )
    if "after" in value and value.get("from") != LINES:
        raise wrong(where, 'after goes with from = "line": the label that the lines begin with.')
    if value.get("from") == ROW_NUMBER and not where.endswith(f", {CALLBACKS.name}, {CALLBACKS.key[0]}"):
        raise wrong(where, 'only callback_id can be { from = "row" }.')
    if value.get("part", 1) not in (1, 2) or isinstance(value.get("part"), bool):
        raise wrong(
            where,
            "part must be 1 or 2: the first or the second number of cells such as 4000 x 2100, or the name and the "
            "address of one cell.",
        )


def _is_turned(where: str, table: dict[str, object]) -> bool:
    """Whether plus is minus in a column of readings: sign = "-"."""
    sign = table.get("sign", "+")
    if sign not in _SIGNS:
        raise wrong(where, f'sign = {sign!r} must be "+" or "-": "-" where the sheet counts the other way.')
    if "sign" in table and f", {READINGS.name}" not in where:
        raise wrong(where, "only the numbers of readings can have a sign = .")
    return _SIGNS[str(sign)]


def _words(where: str, key: str, value: object) -> tuple[tuple[str, str], ...]:
    """The firm's words, or the headings of marks, and what each means."""
    if not isinstance(value, dict):
        raise wrong(where, f"{key} must be a table such as {_TABLES[key]}.")
    return tuple((folded(str(word)), as_text(where, key, meant)) for word, meant in value.items())


def _each(where: str, record: Record, row: object) -> Each:
    if not isinstance(row, dict) or ("column" in row) == ("item" in row):
        raise wrong(where, 'every line of each names one column (or one item), such as { column = "Sill L", ... }.')
    known = [column.name for column in record.columns]
    special = _EACH_KEYS if record is READINGS else ("column", "item")
    for key in row:
        if key not in known and key not in special:
            raise wrong(where, f"'{key}' is not a column of {record.name}{or_keys(key, [*known, *special])}")
    share = row.get("share")
    if share is not None and (isinstance(share, bool) or not isinstance(share, int | float) or not 0 <= share <= 1):
        raise wrong(where, f"share = {share} must be a number from 0 to 1.")
    fixed = tuple((name, str(row[name])) for name in known if name in row)
    return Each(
        heading=folded(str(row["column"])) if "column" in row else None,
        item=folded(str(row["item"])) if "item" in row else None,
        fixed=fixed,
        share=None if share is None else float(share),
        of=_source(f"{where}, of", row["of"]) if "of" in row else None,
        unit_heading=folded(str(row["unit_column"])) if "unit_column" in row else None,
        position_heading=folded(str(row["position_column"])) if "position_column" in row else None,
        is_turned=_is_turned(where, row),
        bare_unit=as_text(where, "bare_unit", row["bare_unit"]) if "bare_unit" in row else None,
        part=_part(where, row),
        low=_low(where, row),
    )


def _part(where: str, row: dict[str, object]) -> int:
    """Which of the numbers of a cell a line of each reads."""
    part = row.get("part", 0)
    if (
        isinstance(part, bool)
        or not isinstance(part, int)
        or not 0 <= part <= _MOST_PARTS
        or (row.keys() >= {"part", "item"})
    ):
        raise wrong(
            where, f"part = {part!r} must be a whole number from 1: which of several numbers in a column's cells."
        )
    return part


def _low(where: str, row: dict[str, object]) -> str:
    """The end that a line of each reads of cells that name the one that is low."""
    if "low" not in row:
        return ""
    if row["low"] not in _LOW_ENDS or not row.get("part"):
        raise wrong(where, 'low = must be "left" with part = 1, or "right" with part = 2: of cells such as 3 L.')
    return str(row["low"])


def _rows(where: str, value: object) -> list[object]:
    if not isinstance(value, list):
        raise wrong(where, "each must be a list of lines in square brackets.")
    return value

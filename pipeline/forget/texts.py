"""Takes a person's texts out of other cells: a name in the wrong column is set aside with what it says."""

from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

import polars as pl

from pipeline.errors import UserError
from pipeline.ingest.history.store import quoted, with_frame
from pipeline.ingest.landing.erased_texts import SHORTEST, TextRule, in_json, is_telling

if TYPE_CHECKING:
    import duckdb

# Where cells are kept as they were written, whatever stood in them; and where as JSON by column.
AS_WRITTEN = (
    "problems", "rejections", "set_aside", "corrections", "shown_lines", "unread", "unread_headings", "unread_columns",
)  # fmt: skip
AS_JSON = {("corrections", "source"), ("shown_lines", "cells"), ("refused_texts", "cells"), ("raw_cells", "raw")}


@dataclass(frozen=True)
class Texts:
    """names: names and addresses; others: postcodes and notes. As they are compared."""

    names: frozenset[str]
    others: frozenset[str]

    @cached_property
    def alone(self) -> frozenset[str]:
        """Texts that go where they are all that a cell set aside says."""
        return frozenset({*self.names, *(text for text in self.others if len(text) >= SHORTEST)} - {""})

    @cached_property
    def telling(self) -> frozenset[str]:
        """Names and addresses that are nobody else's, wherever they stand."""
        return frozenset(text for text in self.names if is_telling(text))

    @cached_property
    def rule(self) -> TextRule:
        """What goes from a cell."""
        lengths = {text.count(" ") + 1 for text in self.telling}
        return TextRule(self.alone.__contains__, self.telling.__contains__, tuple(lengths))


@dataclass(frozen=True)
class Change:
    """Cells of one column that hold a text, and what is left of them: cell, clean."""

    table: str
    column: str
    cells: pl.DataFrame


def clear_texts(connection: "duckdb.DuckDBPyConnection", database: str, texts: Texts, skipped: str = "^$") -> None:
    """Takes the texts out of every text cell of an attached database. skipped: a pattern of tables left alone."""
    make_changes(connection, database, changes_in(connection, database, texts, skipped))


def changes_in(
    connection: "duckdb.DuckDBPyConnection", database: str, texts: Texts, skipped: str = "^$"
) -> list[Change]:
    """What has to change for no text cell of an attached database to hold one of the texts."""
    changes = [
        Change(table, column, _changed(connection, f'{database}.main."{table}"', (table, column), texts))
        for table, column in _text_columns(connection, database, skipped)
    ]
    return [change for change in changes if change.cells.height]


def make_changes(connection: "duckdb.DuckDBPyConnection", database: str, changes: list[Change]) -> None:
    """Makes the changes in an attached database that holds the same as the one where they were found."""
    for change in changes:
        where, name = f'{database}.main."{change.table}"', quoted(change.column)
        update = f"UPDATE {where} AS t SET {name} = i.clean FROM incoming AS i WHERE t.{name} = i.cell"
        with_frame(connection, change.cells, update)


def clear_workbook(path: Path, target: Path, texts: Texts) -> int:
    """Writes a workbook without the texts to `target`, where it holds any; how many cells did.

    Raises UserError where it cannot be read: nobody could say that it does not hold them.
    """
    book = _loaded(path)
    n_found = 0
    for cell in (cell for sheet in book.worksheets for row in sheet.iter_rows() for cell in row):
        if isinstance(cell.value, str) and (clean := texts.rule.without(cell.value, is_as_written=True)) != cell.value:
            cell.value = clean
            n_found += 1
    if n_found:
        book.save(target)
    return n_found


def _loaded(path: Path) -> Any:
    from openpyxl import load_workbook

    try:
        return load_workbook(path)
    except (OSError, MemoryError):
        raise
    except Exception:  # a damaged file makes the library fail in many ways
        why = f"{path.name} cannot be read, so it may still hold the customer"
        raise UserError(f"{why}; take it out of {path.parent} and try again.") from None


def _text_columns(connection: "duckdb.DuckDBPyConnection", database: str, skipped: str) -> list[tuple[str, str]]:
    return connection.execute(
        """
        SELECT c.table_name, c.column_name
        FROM duckdb_columns() AS c JOIN duckdb_tables() AS t USING (database_name, schema_name, table_name)
        WHERE c.database_name = ? AND c.data_type = 'VARCHAR' AND NOT regexp_matches(c.table_name, ?)
        ORDER BY ALL
        """,
        [database, skipped],
    ).fetchall()


def _changed(connection: "duckdb.DuckDBPyConnection", where: str, place: tuple[str, str], texts: Texts) -> pl.DataFrame:
    """The distinct cells of a column that hold a text, and what is left of them: cell, clean."""
    table, column = place
    is_as_written, is_json = table in AS_WRITTEN, place in AS_JSON
    name = quoted(column)
    sql = f"SELECT DISTINCT {name} FROM {where} WHERE {name} IS NOT NULL"
    if not is_as_written and not is_json:
        # what goes from free words has two of them at least
        sql += f" AND regexp_matches({name}, '[^\\W_][\\W_]+[^\\W_]')" if texts.telling else " AND false"
    cells = [cell for (cell,) in connection.execute(sql).fetchall()]
    clean = [in_json(cell, texts.rule) if is_json else texts.rule.without(cell, is_as_written) for cell in cells]
    pairs = [(cell, left) for cell, left in zip(cells, clean, strict=True) if cell != left]
    return pl.DataFrame(pairs, schema={"cell": pl.String, "clean": pl.String}, orient="row")

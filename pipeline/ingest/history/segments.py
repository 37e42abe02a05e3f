"""Where the rows of a record lie: a table of its own for each large file, one table for all others.

A large file's table is filled once and never deleted from, so a row's place in it gives the row's number. What is
said of single rows stands beside them: `marks` (why a row does not count) and `hidden` (the judge has taken it over).
"""

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from pipeline.ingest.history.store import rows_columns, rows_table
from pipeline.ingest.records import INSTALLS, RECORDS, SPELT, Record

if TYPE_CHECKING:
    import duckdb

# Row number of the first row after the header; files of JSON lines have none.
FIRST_ROW = 2
FIRST_LINE = 1
JSON_LINES = ".jsonl"

DOOR = INSTALLS.key[0]
_MEANT = 'coalesce((SELECT s.meant FROM spellings AS s WHERE s."column" = \'{0}\' AND s.written = r."{0}"), r."{0}")'


@dataclass(frozen=True)
class Segment:
    """A table of rows. load: the large file it holds alone; None for the table of all others.

    columns: those it has; where the row's number is not among them it follows from the row's place: the first row of
    the file has the number first_row. spelt: columns in which one thing is written in several ways.
    """

    record: Record
    table: str
    load: int | None
    columns: frozenset[str]
    has_hidden: bool = False
    first_row: int = FIRST_ROW
    spelt: frozenset[str] = frozenset()

    @property
    def number(self) -> str:
        """SQL of the row's number."""
        return 'r."row"' if "row" in self.columns else f"(r.rowid + {self.first_row})::BIGINT"

    @property
    def load_sql(self) -> str:
        """SQL of the row's load."""
        return "r.load" if self.load is None else str(self.load)

    def meant(self, name: str) -> str:
        """SQL of a cell that the table has, in the way to write it that all rows are read in."""
        return _MEANT.format(name) if name in self.spelt else f'r."{name}"'

    def selected(self, name: str, kind: str) -> str:
        """SQL of one of the record's columns; a door is named as `installs` names it."""
        if name == DOOR and name in self.columns:
            return f"{self.meant(name)} AS {DOOR}"
        return f'r."{name}"' if name in self.columns else f'NULL::{kind} AS "{name}"'

    def rows_sql(self, condition: str = "") -> str:
        """SELECT of the record's columns, load and row, without hidden rows."""
        columns = ", ".join(self.selected(name, kind) for name, kind in rows_columns(self.record))
        where = f"WHERE {condition}" if condition else ""
        return (
            f'SELECT {columns}, {self.load_sql} AS load, {self.number} AS "row" '
            f"FROM {self.table} AS r {self.hidden_join()} {where}"
        )

    def hidden_join(self) -> str:
        """The join that leaves hidden rows out; empty where there are none."""
        if not self.has_hidden:
            return ""
        return f'ANTI JOIN (SELECT "row" FROM hidden WHERE load = {self.load}) AS h ON h."row" = {self.number}'


def load_table(record: Record, load: int) -> str:
    """The table of one large file."""
    return f"{record.name}_load_{load}"


def first_row(file: str) -> int:
    """The number of the first row of a file."""
    return FIRST_LINE if Path(file).suffix.lower() == JSON_LINES else FIRST_ROW


def all_rows(record: Record) -> str:
    """The temporary view of every row in force: the record's columns, load and row."""
    return f"all_{record.name}"


def find_segments(connection: "duckdb.DuckDBPyConnection", record: Record, in_force: bool = True) -> list[Segment]:
    """The tables of a record; in_force: without those of large files that have been replaced."""
    wanted = "AND replaced_in IS NULL" if in_force else ""
    loads = connection.execute(
        f"SELECT load, file FROM loads WHERE record = ? AND is_large {wanted} ORDER BY load", [record.name]
    ).fetchall()
    hiding = {load for (load,) in connection.execute("SELECT DISTINCT load FROM hidden").fetchall()}
    names = {name for name, _ in rows_columns(record)} | {"load", "row"}
    several = connection.execute('SELECT DISTINCT "column" FROM spellings').fetchall()
    spelt = frozenset(name for (name,) in several if record in SPELT[name])
    found = [Segment(record, rows_table(record), None, frozenset(names), spelt=spelt)]
    for load, file in loads:
        table = load_table(record, load)
        columns = _columns(connection, table)
        found.append(Segment(record, table, load, columns, load in hiding, first_row(file), spelt))
    return found


def records_in_use(connection: "duckdb.DuckDBPyConnection") -> tuple[Record, ...]:
    """The records that have ever been taken in, in the order in which they are judged."""
    names = {name for (name,) in connection.execute("SELECT record FROM loads").fetchall()}
    return tuple(record for record in RECORDS if record.name in names or record is INSTALLS)


def view_all_rows(connection: "duckdb.DuckDBPyConnection", record: Record) -> None:
    """Makes the temporary view `all_rows(record)`."""
    first, *large = find_segments(connection, record)
    in_force = "r.load IN (SELECT load FROM loads WHERE replaced_in IS NULL)"
    selects = [first.rows_sql(in_force), *(segment.rows_sql() for segment in large)]
    connection.execute(f"CREATE OR REPLACE TEMP VIEW {all_rows(record)} AS {' UNION ALL '.join(selects)}")


def drop_strays(connection: "duckdb.DuckDBPyConnection") -> None:
    """Drops the tables of large files that a stopped run left behind."""
    known = {load for (load,) in connection.execute("SELECT load FROM loads").fetchall()}
    of_large_files = "database_name = 'records' AND table_name SIMILAR TO '[a-z]+_load_[0-9]+'"
    tables = connection.execute(f"SELECT table_name FROM duckdb_tables() WHERE {of_large_files}").fetchall()
    for (table,) in tables:
        if int(table.rsplit("_", 1)[1]) not in known:
            connection.execute(f"DROP TABLE {table}")


def remove_load(connection: "duckdb.DuckDBPyConnection", record: Record, load: int) -> None:
    """Removes every trace of a load but its line in `loads`."""
    connection.execute(f"DROP TABLE IF EXISTS {load_table(record, load)}")
    beside = ("raw_cells", "door_leans", "problems", "marks", "hidden", "headings", "unread", "refused_texts")
    for table in (rows_table(record), *beside):
        connection.execute(f"DELETE FROM {table} WHERE load = {load}")


def make_load_table(connection: "duckdb.DuckDBPyConnection", record: Record, load: int, names: list[str]) -> str:
    """Makes the table of a large file with the given columns; its name."""
    table = load_table(record, load)
    kinds = dict(rows_columns(record))
    # the forms that suit these columns, named so that the others need not be tried
    forms = {"TEXT": "dict_fsst", "DOUBLE": "alp", "DATE": "bitpacking", "INTEGER": "bitpacking"}
    columns = ", ".join(f'"{name}" {kinds[name]} USING COMPRESSION {forms[kinds[name]]}' for name in names)
    connection.execute(f"CREATE TABLE {table} ({columns})")
    return table


def _columns(connection: "duckdb.DuckDBPyConnection", table: str) -> frozenset[str]:
    rows = connection.execute(
        "SELECT column_name FROM duckdb_columns() WHERE database_name = 'records' AND table_name = ?", [table]
    ).fetchall()
    return frozenset(name for (name,) in rows)

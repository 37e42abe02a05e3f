"""Finds the table-making files, and reads each one's header and the names of the tables it reads.

Takes the two folders of models; gives one `Model` per table. Never runs a model and never opens a database.
"""

import ast
import re
from dataclasses import dataclass, replace
from pathlib import Path

from pipeline.sql_reading import tables_read

LAYERS = ("staging", "deviations", "exposure", "model", "marts")
EVALUATE, PART = "evaluate", "part"  # arguments of a model that name no table

COLUMN_TYPES = {
    "text": "VARCHAR",
    "double": "DOUBLE",
    "integer": "BIGINT",
    "boolean": "BOOLEAN",
    "date": "DATE",
    "timestamp": "TIMESTAMP",
    "text[]": "VARCHAR[]",
    "double[]": "DOUBLE[]",
}

_PACKAGE_FOLDER = Path(__file__).resolve().parent
SQL_FOLDER = _PACKAGE_FOLDER.parent / "dbt_like_sql"
PYTHON_FOLDER = _PACKAGE_FOLDER / "model"

_FIELD = re.compile(r"(grain|key|kind|order|slices|each door|left out|columns):\s*(.*)", re.IGNORECASE)
_COLUMN = re.compile(r'"?(\w+)"?\s+([a-z]+(?:\[\])?)(?:\s+(.*))?$')


class ModelError(Exception):
    """A model file is wrong, or broke its own promise: our fault, never the user's. Names file or table."""


@dataclass(frozen=True)
class Column:
    """One output column: its name, its type word (a key of COLUMN_TYPES) and what it means, with unit."""

    name: str
    type: str
    meaning: str

    @property
    def duckdb_type(self) -> str:
        """The DuckDB type that the type word stands for."""
        return COLUMN_TYPES[self.type]


@dataclass(frozen=True)
class Header:
    """What a model file promises of its table. `key` is empty only for a view.

    slices         the table by whose key the table is made a slice at a time, so that memory stays bounded; '' makes
                   it whole
    is_last        made after all others, since what it loads stays in memory
    door_by_door   a door's rows are made of that door's rows in those inputs that have an install_id, and of inputs
                   that have none: it may be made anew for some doors only
    """

    purpose: str
    grain: str
    key: tuple[str, ...]
    columns: tuple[Column, ...]
    is_view: bool = False
    left_out: str = ""
    slices: str = ""
    is_last: bool = False
    door_by_door: bool = False


@dataclass(frozen=True)
class Model:
    """One file that makes one table. `text` is the whole file; `reads` the tables that it names.

    asks_evaluate  it asks for other tables, were its inputs otherwise
    asks_part      it can make a part of its rows: (k, n) is the k-th of n parts, which together are the table
    """

    name: str
    layer: str
    path: Path
    text: str
    header: Header
    reads: tuple[str, ...]
    asks_evaluate: bool = False
    asks_part: bool = False

    @property
    def is_sql(self) -> bool:
        """True for a SQL file, False for a Python module."""
        return self.path.suffix == ".sql"

    @property
    def where(self) -> str:
        """The file as messages name it, such as `staging/staged_installs.sql`."""
        return f"{self.layer}/{self.path.name}"


def find_models(sql_folder: Path = SQL_FOLDER, python_folder: Path = PYTHON_FOLDER) -> dict[str, Model]:
    """Every model of the two folders by table name.

    Raises ModelError for two files of one name, a layer that is not known, a header that cannot be read.
    """
    return {name: read_model(path) for name, path in model_paths(sql_folder, python_folder).items()}


def model_paths(sql_folder: Path = SQL_FOLDER, python_folder: Path = PYTHON_FOLDER) -> dict[str, Path]:
    """The file that makes each table, by table name. Raises ModelError where two files make one table."""
    paths: dict[str, Path] = {}
    for path in [*sorted(sql_folder.glob("*/*.sql")), *sorted(python_folder.glob("*/*.py"))]:
        if path.stem in paths:
            first, second = (f"{each.parent.name}/{each.name}" for each in (paths[path.stem], path))
            raise ModelError(f"{first} and {second} both make the table {path.stem}")
        if path.name != "__init__.py":
            paths[path.stem] = path
    return paths


def read_model(path: Path) -> Model:
    """The model in one file; its layer is the folder it lies in."""
    if path.parent.name not in LAYERS:
        raise ModelError(f"{path.parent.name}/{path.name}: the folder must be one of {', '.join(LAYERS)}")
    text = path.read_text(encoding="utf-8")
    return _read_sql(path, text) if path.suffix == ".sql" else _read_python(path, text)


def _read_sql(path: Path, text: str) -> Model:
    lines = text.splitlines()
    n_comment = next((number for number, line in enumerate(lines) if not line.startswith("--")), len(lines))
    header = read_header(path.stem, [line[2:] for line in lines[:n_comment]])
    try:
        reads = tables_read(text)
    except ValueError as error:
        raise ModelError(f"{path.name}: {error}") from error
    return Model(path.stem, path.parent.name, path, text, header, reads)


def _read_python(path: Path, text: str) -> Model:
    module = ast.parse(text, filename=path.name)
    header = read_header(path.stem, [f" {line}" for line in (ast.get_docstring(module) or "").splitlines()])
    builds = [node for node in module.body if isinstance(node, ast.FunctionDef) and node.name == "build"]
    if not builds:
        raise ModelError(f"{path.name}: define one function build(<the tables it reads>)")
    names = [argument.arg for argument in [*builds[0].args.args, *builds[0].args.kwonlyargs]]
    reads = tuple(name for name in names if name not in (EVALUATE, PART))
    return Model(path.stem, path.parent.name, path, text, header, reads, EVALUATE in names, PART in names)


def read_header(name: str, lines: list[str]) -> Header:
    """The header of the table `name` from its comment lines, the comment sign taken off.

    Form: `name: purpose`, then `grain:`, `key:`, optionally `kind: view`, `order: last`, `slices:`,
    `each door: by itself` and `left out:`, then `columns:` with one indented `column type meaning` a line. A line that
    is none of these carries on the one before; after the columns a blank line ends the header.
    """
    if not lines or not lines[0].strip().startswith(f"{name}:"):
        raise ModelError(f"{name}: the file must open with '{name}: <what the table is for>'")
    fields = {"purpose": lines[0].strip().removeprefix(f"{name}:").strip()}
    current, column_lines = "purpose", list[str]()
    for line in lines[1:]:
        found = _FIELD.match(line.strip())
        if found:
            current = found[1].lower()
            fields[current] = found[2].strip()
        elif current == "columns" and column_lines and not line.strip():
            break  # after a blank line the file may go on as it likes
        elif current == "columns":
            column_lines.append(line)
        else:
            fields[current] = f"{fields[current]} {line.strip()}".strip()
    return _checked_header(name, fields, _columns(name, column_lines))


def _columns(name: str, lines: list[str]) -> tuple[Column, ...]:
    lines = [line for line in lines if line.strip()]
    indent = _indent(lines[0]) if lines else 0
    columns: list[Column] = []
    for line in lines:
        if _indent(line) > indent:  # a deeper line carries on the meaning of the column above it
            columns[-1] = replace(columns[-1], meaning=f"{columns[-1].meaning} {line.strip()}")
        else:
            columns.append(_column(name, line))
    return tuple(columns)


def _column(name: str, line: str) -> Column:
    found = _COLUMN.match(line.strip())
    if not found or found[2] not in COLUMN_TYPES:
        raise ModelError(f"{name}: '{line.strip()}' is not 'column type meaning', type being {', '.join(COLUMN_TYPES)}")
    return Column(found[1], found[2], (found[3] or "").strip())


def _indent(line: str) -> int:
    return len(line) - len(line.lstrip())


def _checked_header(name: str, fields: dict[str, str], columns: tuple[Column, ...]) -> Header:
    missing = [field for field in ("purpose", "grain", "key", "columns") if field not in fields]
    if missing or not columns or not fields["purpose"] or not fields["grain"]:
        raise ModelError(f"{name}: the header lacks its {missing[0] if missing else 'purpose, grain or columns'}")
    is_view = fields.get("kind", "") == "view"
    words = [word.strip().strip('"') for word in fields["key"].split(",")]
    key = () if words == ["none"] else tuple(words)
    unknown = [word for word in key if word not in {column.name for column in columns}]
    if unknown or not (key or is_view):
        raise ModelError(f"{name}: the key must name columns of the header, not '{fields['key']}'")
    door_by_door = fields.get("each door", "")
    if door_by_door and (door_by_door != "by itself" or "install_id" not in {column.name for column in columns}):
        raise ModelError(f"{name}: 'each door' may only be 'by itself', of a table with a column install_id")
    return Header(
        purpose=fields["purpose"],
        grain=fields["grain"],
        key=key,
        columns=columns,
        is_view=is_view,
        left_out=fields.get("left out", ""),
        slices=fields.get("slices", ""),
        is_last=fields.get("order", "") == "last",
        door_by_door=bool(door_by_door),
    )

"""What each table was made from, as one hash: equal hashes mean that making it again would change nothing.

A fingerprint covers the model's file, the `pipeline` modules that it imports, what it reads, and the locked versions
of the libraries that compute. Of settings and catalogue only the columns that it reads count.
"""

import ast
import hashlib
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING

from pipeline.graph import Graph
from pipeline.model_files import Model
from pipeline.sql_reading import columns_named, taken_whole

if TYPE_CHECKING:
    import duckdb
    import polars as pl

_PACKAGE = Path(__file__).resolve().parents[1]
_COMPUTING = ("duckdb", "polars", "numpy", "scipy", "great_expectations")


@dataclass(frozen=True)
class Fingerprint:
    """rules: file, modules, versions, and the settings and catalogue read directly. own: the records read directly too.
    whole: all upstream too."""

    rules: str
    own: str
    whole: str


@dataclass(frozen=True)
class Fingerprints:
    """By table name: one for each model, and the hash of the rows of each record view that a model reads."""

    models: dict[str, Fingerprint]
    records: dict[str, str]

    @property
    def records_state(self) -> str:
        """One hash for all records read."""
        return digest(f"{name} {print_}" for name, print_ in sorted(self.records.items()))


def fingerprints(graph: Graph, frames: dict[str, "pl.DataFrame"], records: dict[str, str]) -> Fingerprints:
    """The fingerprint of every model and of every record view that is read.

    frames   settings and catalogue
    records  hash of the rows of each record view that is read
    """
    versions = [f"{name} {version(name)}" for name in _COMPUTING]
    found: dict[str, Fingerprint] = {}
    for name, model in graph.models.items():
        sources = sorted(set(model.reads) - set(graph.models))
        chosen = [f"{read} {_columns_hash(read, frames[read], model)}" for read in sources if read in frames]
        rules = digest([model.text, *_module_texts(model), *chosen, *versions])
        own = digest([rules, *(f"{read} {records[read]}" for read in sources if read in records)])
        inputs = [f"{read} {found[read].whole}" for read in sorted(model.reads) if read in found]
        found[name] = Fingerprint(rules, own, digest([own, *inputs]))
    return Fingerprints(found, records)


def catalogue_hash(frames: dict[str, "pl.DataFrame"]) -> str:
    """One hash for the whole catalogue, the firm's additions included."""
    return digest(f"{name} {frame_hash(frame)}" for name, frame in sorted(frames.items()) if name != "settings")


def frame_hash(frame: "pl.DataFrame") -> str:
    """The hash of a small frame: names, types and rows in their order."""
    return digest([repr(frame.schema), repr(frame.rows())])


def rows_hash(connection: "duckdb.DuckDBPyConnection", table: str, columns: tuple[str, ...] = ()) -> str:
    """The hash of a table's rows in any order, over some of its columns (none named: all)."""
    described = connection.execute(f"DESCRIBE FROM {table}").fetchall()
    taken = ", ".join(f'"{row[0]}"' for row in described if row[0] in columns or not columns)
    summary = connection.execute(f"SELECT count(*), sum(hash({taken})) FROM {table}").fetchall()
    return digest([taken, repr(summary)])


def columns_taken(model: Model, table: str, columns: tuple[str, ...]) -> tuple[str, ...]:
    """Those of an input's columns that the model may read: all for Python, which may walk over them."""
    if not model.is_sql or taken_whole(model.text) & {table, "*"}:
        return columns
    words = columns_named(model.text)
    return tuple(column for column in columns if column.lower() in words)


def modules_imported(path: Path, package: Path = _PACKAGE) -> list[Path]:
    """The files of `package` that a Python file imports, directly or through others, sorted."""
    found: set[Path] = set()
    waiting = [path]
    while waiting:
        for module in _imported_files(waiting.pop(), package):
            if module not in found:
                found.add(module)
                waiting.append(module)
    return sorted(found)


def records_read(graph: Graph, frames: dict[str, "pl.DataFrame"]) -> list[str]:
    """The record views that models read, sorted."""
    reads = {name for model in graph.models.values() for name in model.reads}
    return sorted(reads - set(graph.models) - set(frames))


def _columns_hash(table: str, frame: "pl.DataFrame", model: Model) -> str:
    if model.is_sql:
        read = list(columns_taken(model, table, tuple(frame.columns)))
    else:
        texts = (model.text, *_module_texts(model))
        read = [name for name in frame.columns if any(name in _python_words(text) for text in texts)] or frame.columns
    return frame_hash(frame.select(read)) + str(frame.height)


@cache
def _python_words(text: str) -> frozenset[str]:
    """Every string constant, attribute and keyword: a column that is read stands among them."""
    nodes = _nodes(text)
    constants = {node.value for node in nodes if isinstance(node, ast.Constant) and isinstance(node.value, str)}
    attributes = {node.attr for node in nodes if isinstance(node, ast.Attribute)}
    return frozenset(
        constants | attributes | {node.arg for node in nodes if isinstance(node, ast.keyword) and node.arg}
    )


def _module_texts(model: Model) -> list[str]:
    if model.is_sql:
        return []
    return [_text_of(path) for path in modules_imported(model.path)]


@cache
def _text_of(path: Path) -> str:
    return path.read_text(encoding="utf-8")


@cache
def _nodes(text: str) -> tuple[ast.AST, ...]:
    """What stands in a module, parsed once: many models import the same ones."""
    return tuple(ast.walk(ast.parse(text)))


@cache
def _imported_files(path: Path, package: Path) -> tuple[Path, ...]:
    names: set[str] = set()
    for node in _nodes(_text_of(path)):
        if isinstance(node, ast.Import):
            names.update(alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            names.update([node.module, *(f"{node.module}.{alias.name}" for alias in node.names)])
    own = [name.split(".")[1:] for name in names if name.split(".")[0] == package.name]
    return tuple(sorted({file for parts in own for file in _files_of(package, parts)}))


def _files_of(package: Path, parts: list[str]) -> Iterable[Path]:
    """The files that importing a dotted name runs: the module, and the `__init__` of each package above it."""
    for depth in range(len(parts) + 1):
        place = package.joinpath(*parts[:depth])
        for file in (place.with_suffix(".py"), place / "__init__.py"):
            if file.is_file():
                yield file


def digest(parts: Iterable[str]) -> str:
    """One hash for texts in their order."""
    return hashlib.sha256("\0".join(parts).encode()).hexdigest()[:32]

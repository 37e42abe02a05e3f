"""The shape of the house: what may import what, how long things are, what the lock and the files may say."""

import ast
import re
import tomllib
from functools import cache
from graphlib import TopologicalSorter
from importlib.metadata import requires
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name
from pathspec import GitIgnoreSpec

from tests.conftest import BEGUN_FIRST

ROOT = Path(__file__).resolve().parents[1]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]

# Parts of `pipeline` from the ground up: a part imports itself and what stands below it.
TIERS = [
    {"errors", "stats", "interrupts", "books"},
    {"terminal"},
    {"progress"},
    {"catalogue"},
    {"settings"},
    {"sql_reading"},
    {"model_files"},
    {"graph"},
    {"rewriting"},
    {"warehouse", "publish"},
    {"building"},
    {"crew_codes"},
    {"export", "summary", "fault_log"},
    {"ingest"},
    {"validate", "dictionary"},
    {"model"},
    {"report"},
    {"demo", "sheets"},
    {"folders"},
    {"run"},
    {"check", "door", "forget", "recheck", "tables"},
    {"command_line"},
    {"cli"},
    {"__main__"},
]
# Parts that know less than their height would let them.
ONLY = {
    "stats": {"stats"},
    "validate": {"validate", "errors"},
    "model": {"model", "stats", "validate"},
    "report": {"report", "errors", "warehouse", "books", "crew_codes", "dictionary"},
    "demo": {"demo", "catalogue", "stats", "errors"},
}

TOP_LEVEL = {
    *{"README.md", "DEVELOPERS.md", "CHANGELOG.md", "Makefile", "pyproject.toml", "requirements.lock"},
    *{".ci", ".gitignore", "pipeline", "dbt_like_sql", "data", "reports", "tests"},
}
VAGUE_NAMES = {"utils", "util", "helpers", "helper", "misc", "common_utils"}
MODULE_LINES = 400
FUNCTION_LINES = 40

# Written in two parts, so that this file does not hold them itself.
PRIVATE = [
    first + second for first, second in [("/ro", "ot/"), ("/ho", "me/"), ("/Us", "ers/"), ("/wo", "rk/"), ("/o", "pt/")]
]
INDEXES = [first + second for first, second in [("pypi", ".org"), ("pythonhosted", ".org"), ("simple", "/pip")]]


def kept_files() -> list[Path]:
    """Every file of the project but those that .gitignore leaves out."""
    ignored = GitIgnoreSpec.from_lines([".git", *(ROOT / ".gitignore").read_text("utf-8").splitlines()])
    names = ignored.match_tree_files(ROOT, negate=True)
    return sorted(ROOT / name for name in names)


KEPT = kept_files()
MODULES = [path for path in KEPT if path.suffix == ".py"]
PIPELINE = [path for path in MODULES if path.is_relative_to(ROOT / "pipeline") and path.parent != ROOT]


def name_of(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


def part_of(path: Path) -> str:
    return path.relative_to(ROOT / "pipeline").with_suffix("").parts[0]


@cache
def imported_names(path: Path) -> frozenset[str]:
    """What a module imports, in full, wherever in it the import stands: modules, and names with their module."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.level == 0 and node.module:
            found |= {f"{node.module}.{alias.name}" for alias in node.names}
    return frozenset(found)


def imported_from(package: str, path: Path) -> set[str]:
    """The modules and folders right in a package that a module imports from."""
    inside = (name.removeprefix(f"{package}.") for name in imported_names(path) if name.startswith(f"{package}."))
    return {name.split(".")[0] for name in inside}


@pytest.mark.parametrize("path", [p for p in PIPELINE if part_of(p) != "__init__"], ids=name_of)
def test_a_module_imports_downwards_only(path: Path) -> None:
    part = part_of(path)
    height = next((height for height, tier in enumerate(TIERS) if part in tier), None)
    assert height is not None, f"say in TIERS where {part} stands"
    below = ONLY.get(part, {part}.union(*TIERS[:height]))
    assert imported_from("pipeline", path) <= below


def rooms_imported(folder: Path) -> dict[str, set[str]]:
    """Which of a folder's rooms, its modules and the folders in it, each of them imports."""
    package = ".".join(folder.relative_to(ROOT).parts)
    rooms = {path.stem for path in folder.iterdir() if path.is_dir() or path.suffix == ".py"}
    found: dict[str, set[str]] = {}
    for path in folder.rglob("*.py"):
        room = path.relative_to(folder).with_suffix("").parts[0]
        found.setdefault(room, set()).update(rooms & imported_from(package, path) - {room})
    return found


@pytest.mark.parametrize("folder", sorted({path.parent for path in PIPELINE}), ids=name_of)
def test_the_rooms_of_a_folder_import_one_another_in_one_direction(folder: Path) -> None:
    TopologicalSorter(rooms_imported(folder)).prepare()


@pytest.mark.parametrize("path", MODULES, ids=name_of)
def test_imports_name_their_module_in_full(path: Path) -> None:
    tree = ast.parse(path.read_text("utf-8"))
    assert not [node.lineno for node in ast.walk(tree) if isinstance(node, ast.ImportFrom) and node.level]


def code_lines(function: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    """Lines of a function, its docstring not counted."""
    first = function.body[0]
    has_docstring = ast.get_docstring(function, clean=False) is not None
    docstring = first.end_lineno - first.lineno + 1 if has_docstring and first.end_lineno else 0
    return (function.end_lineno or function.lineno) - function.lineno + 1 - docstring


@pytest.mark.parametrize("path", MODULES, ids=name_of)
def test_modules_and_functions_are_short(path: Path) -> None:
    text = path.read_text("utf-8")
    assert len(text.splitlines()) <= MODULE_LINES
    functions = [node for node in ast.walk(ast.parse(text)) if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)]
    assert not [f"{f.name}: {code_lines(f)} lines" for f in functions if code_lines(f) > FUNCTION_LINES]


def test_no_module_has_a_vague_name() -> None:
    assert not [name_of(path) for path in MODULES if path.stem in VAGUE_NAMES]


def test_nothing_lies_at_the_top_but_what_belongs_there() -> None:
    assert {path.relative_to(ROOT).parts[0] for path in KEPT} <= TOP_LEVEL


@pytest.mark.parametrize("path", [p for p in KEPT if p.suffix not in {".png", ".xlsx", ".parquet"}], ids=name_of)
def test_no_file_names_a_private_folder_or_a_package_index(path: Path) -> None:
    text = path.read_text("utf-8", errors="replace")
    private = re.compile(r"(?<![\w.*/-])(" + "|".join(PRIVATE) + ")")
    assert not private.findall(text)
    assert not [word for word in INDEXES if word in text]


def locked() -> dict[str, list[str]]:
    """Lines of requirements.lock that pin a library, by its name; one library may be pinned per Python."""
    pins: dict[str, list[str]] = {}
    for line in (ROOT / "requirements.lock").read_text("utf-8").splitlines():
        if not line.startswith(" "):
            pins.setdefault(canonicalize_name(line.split("==")[0]), []).append(line.removesuffix("\\").strip())
    return pins


def test_the_lock_holds_pinned_libraries_and_their_hashes_and_nothing_else() -> None:
    pin = re.compile(r"[a-z0-9-]+==[\w.]+( ; [^/#]+)? \\|    --hash=sha256:[0-9a-f]{64}( \\)?")
    lines = (ROOT / "requirements.lock").read_text("utf-8").splitlines()
    assert len(lines) > 100
    assert not [line for line in lines if not pin.fullmatch(line)]


def test_the_lock_satisfies_what_the_project_asks_for() -> None:
    pins = locked()
    build = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["build-system"]["requires"]
    for text in [*PROJECT["dependencies"], *PROJECT["optional-dependencies"]["test"], *build]:
        wanted = Requirement(text)
        versions = [Requirement(line) for line in pins.get(canonicalize_name(wanted.name), [])]
        assert versions, f"{wanted.name} is not locked: run make lock"
        for version in versions:
            assert wanted.specifier.contains(str(version.specifier).removeprefix("=="), prereleases=True), text


def needed_by(library: str) -> set[str]:
    """The library and every library it needs on this machine."""
    found, waiting = set(), [library]
    while waiting:
        name = canonicalize_name(waiting.pop())
        wanted = [] if name in found else [Requirement(text) for text in requires(name) or []]
        found.add(name)
        waiting += [w.name for w in wanted if w.marker is None or w.marker.evaluate({"extra": ""})]
    return found


def test_the_tests_that_are_begun_first_are_there() -> None:
    assert [name for name in BEGUN_FIRST if not (ROOT / name).is_file()] == []


def test_make_takes_all_that_virtualenv_needs_from_the_lock() -> None:
    line = re.search(r"^VIRTUALENV = (\S+)$", (ROOT / "Makefile").read_text("utf-8"), re.MULTILINE)
    assert line is not None
    assert needed_by("virtualenv") <= set(line[1].split("|")) <= set(locked())

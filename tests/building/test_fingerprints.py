"""Which change gives a table another fingerprint, and which does not."""

from pathlib import Path

import polars as pl
import pytest

from pipeline.building import fingerprints as prints
from pipeline.building.build import BuildInputs
from pipeline.building.door_prints import write_door_prints
from pipeline.building.fingerprints import fingerprints, modules_imported, records_read
from pipeline.warehouse import open_for_build
from tests.building.conftest import graph_of

HEADER = "-- one: for a test.\n-- grain: one row per a\n-- key: a\n-- columns:\n--   a  text  key\n"


def fingerprint(folder: Path, inputs: BuildInputs, tmp_path: Path) -> str:
    graph = graph_of(folder)
    target = tmp_path / "target.duckdb"
    with open_for_build(inputs.records, target, tmp_path) as connection:
        records = write_door_prints(connection, records_read(graph, inputs.sources))
        found = fingerprints(graph, inputs.sources, records)
    target.unlink()
    return found.models["one"].whole


@pytest.mark.parametrize(
    ("query", "changed", "is_new"),
    [
        ("select firm as a from settings", "firm", True),
        ("select firm as a from settings", "currency", False),
        ("select s.a from (select * from settings) as s(a)", "currency", True),
        ("select 'x' as a, count(*) as n from settings", "currency", False),
        ("select install_id as a from installs join settings as s on s.currency = installs.crew", "currency", True),
        ("from settings", "currency", True),
    ],
)
def test_a_query_depends_only_on_the_settings_that_it_names(model_folder, inputs, tmp_path, query, changed, is_new):
    folder = model_folder({"staging/one.sql": HEADER + query})
    before = fingerprint(folder, inputs, tmp_path)
    assert fingerprint(folder, inputs, tmp_path) == before
    settings = inputs.sources["settings"].with_columns(pl.lit("changed").alias(changed))
    after = fingerprint(folder, BuildInputs(inputs.records, {"settings": settings}), tmp_path)
    assert (after != before) == is_new


@pytest.mark.parametrize(
    ("code", "is_new"),
    [
        ('settings["currency"]', True),
        ("settings.currency", True),
        ('settings["firm"]', False),
        ("list(settings.iter_rows())", True),
    ],
)
def test_a_python_model_depends_only_on_the_settings_that_it_names(model_folder, inputs, tmp_path, code, is_new):
    docstring = '"""' + HEADER.replace("-- ", "").replace("--", "") + '"""\n'
    text = f"{docstring}\ndef build(settings):\n    return {code}\n"
    folder = model_folder({"staging/one.py": text})
    before = fingerprint(folder, inputs, tmp_path)
    settings = inputs.sources["settings"].with_columns(currency=pl.lit("changed"))
    after = fingerprint(folder, BuildInputs(inputs.records, {"settings": settings}), tmp_path)
    assert (after != before) == is_new


def test_another_version_of_a_computing_library_gives_another_fingerprint(model_folder, inputs, tmp_path, monkeypatch):
    folder = model_folder({"staging/one.sql": HEADER + "select firm as a from settings"})
    before = fingerprint(folder, inputs, tmp_path)
    monkeypatch.setattr(prints, "version", lambda package: "99.9" if package == "duckdb" else "1.0")
    assert fingerprint(folder, inputs, tmp_path) != before


def test_modules_are_followed_through_others(tmp_path):
    package = tmp_path / "house"
    files = {
        "__init__.py": "",
        "floor/__init__.py": "import house.paint",
        "floor/board.py": "from house import nail\nimport os",
        "nail.py": "def f():\n    from house.iron import ore",
        "iron.py": "ore = 1",
        "paint.py": "",
        "unread.py": "",
    }
    for name, text in files.items():
        (package / name).parent.mkdir(parents=True, exist_ok=True)
        (package / name).write_text(text)
    (tmp_path / "model.py").write_text("from house.floor.board import plank")
    found = [path.relative_to(package).as_posix() for path in modules_imported(tmp_path / "model.py", package)]
    assert found == ["__init__.py", "floor/__init__.py", "floor/board.py", "iron.py", "nail.py", "paint.py"]

"""Small folders of models and a small records.duckdb to build from."""

from collections.abc import Callable
from pathlib import Path

import polars as pl
import pytest

from pipeline.building.build import BuildInputs
from pipeline.graph import CATALOGUE_SOURCES, RECORD_SOURCES, Graph, make_graph
from pipeline.model_files import find_models
from tests.conftest import write_records

DOORS = """-- doors: each door with its crew.
-- grain: one row per install_id
-- key: install_id
-- columns:
--   install_id   text     key
--   crew         text     who fitted it
--   area_m2      double   height times width
select install_id, crew, height_mm * width_mm / 1e6 as area_m2 from installs
"""

SEEN = """-- seen_doors: the doors that have readings.
-- grain: one row per install_id
-- key: none
-- kind: view
-- columns:
--   install_id   text     key
select distinct install_id from readings
"""

SIZES = '''"""crew_sizes: how many doors each crew fitted.
grain: one row per crew
key: crew
columns:
  crew    text      key
  doors   integer   doors fitted
  seen    integer   doors with readings
  firm    text      whose doors they are
"""

import polars as pl


def build(doors, seen_doors, settings):
    """Counts doors per crew."""
    counted = doors.group_by("crew").agg(
        pl.len().alias("doors"), pl.col("install_id").is_in(seen_doors["install_id"].implode()).sum().alias("seen")
    )
    return counted.with_columns(firm=pl.lit(settings["firm"][0]))
'''

ModelFolder = Callable[[dict[str, str]], Path]


@pytest.fixture
def model_folder(tmp_path: Path) -> ModelFolder:
    """Writes model files, given as {"staging/doors.sql": text}, and returns their folder."""

    def write(files: dict[str, str]) -> Path:
        folder = tmp_path / "models"
        for place, text in files.items():
            (folder / place).parent.mkdir(parents=True, exist_ok=True)
            (folder / place).write_text(text, encoding="utf-8")
        return folder

    return write


@pytest.fixture
def small_models(model_folder: ModelFolder) -> Path:
    """The folder of three models: a table, a view, and a Python model that reads both and the settings."""
    return model_folder({"staging/doors.sql": DOORS, "staging/seen_doors.sql": SEEN, "marts/crew_sizes.py": SIZES})


def graph_of(folder: Path) -> Graph:
    """The graph of a folder of models over the usual sources."""
    return make_graph(find_models(folder, folder), (*RECORD_SOURCES, *CATALOGUE_SOURCES))


@pytest.fixture
def records(tmp_path: Path) -> Path:
    """A records.duckdb with three doors of two crews and one reading."""
    doors = pl.DataFrame(
        {
            "install_id": ["D1", "D2", "D3"],
            "crew": ["A", "A", "B"],
            "height_mm": [2000.0, 2000.0, None],
            "width_mm": [3000.0, 4000.0, None],
        }
    )
    readings = pl.DataFrame({"install_id": ["D1"], "value": [1.5]})
    return write_records(tmp_path / "records.duckdb", {"installs": doors, "readings": readings})


@pytest.fixture
def inputs(records: Path, settings_row: pl.DataFrame) -> BuildInputs:
    """The records above with the settings of the example firm."""
    return BuildInputs(records, {"settings": settings_row})

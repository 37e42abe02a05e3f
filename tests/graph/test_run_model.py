"""The fixture itself, on the firm's graph as it stands and on small graphs of its own."""

from pathlib import Path

import pytest

from pipeline.graph import CATALOGUE_SOURCES, RECORD_SOURCES, Graph, make_graph
from pipeline.model_files import find_models

DOORS = """-- doors: each door with its crew.
-- grain: one row per install_id
-- key: install_id
-- columns:
--   install_id   text     key
--   crew         text     who fitted it
--   area_m2      double   height times width
select install_id, crew, height_mm * width_mm / 1e6 as area_m2 from installs
"""

CREWS = '''"""crew_sizes: how many doors each crew fitted.
grain: one row per crew
key: crew
columns:
  crew    text      key
  doors   integer   doors fitted
  firm    text      whose doors they are
"""

import polars as pl


def build(doors, settings):
    """Counts doors per crew."""
    firm = settings["firm"][0]
    return doors.group_by("crew").agg(pl.len().alias("doors")).with_columns(firm=pl.lit(firm))
'''


@pytest.fixture
def graph(tmp_path: Path) -> Graph:
    for place, text in (("staging/doors.sql", DOORS), ("marts/crew_sizes.py", CREWS)):
        (tmp_path / place).parent.mkdir()
        (tmp_path / place).write_text(text, encoding="utf-8")
    return make_graph(find_models(tmp_path, tmp_path), (*RECORD_SOURCES, *CATALOGUE_SOURCES))


def test_a_sql_table_is_made_from_a_drawn_table(run_model):
    result = run_model("doors", installs="""
        install_id | crew | height_mm | width_mm
        D2         | B    | 2000      | 3000
        D1         | A    |           | 3000
    """)  # fmt: skip
    assert result == [("D1", "A", None), ("D2", "B", 6.0)]
    assert result.pick("area_m2") == [None, 6.0]


def test_a_python_table_is_made_and_settings_keep_their_other_defaults(run_model):
    doors = """
        install_id | crew
        D1         | A
        D2         | A
    """
    assert run_model("crew_sizes", doors=doors) == [("A", 2, "Example Doors")]
    assert run_model("crew_sizes", doors=doors, settings="firm\nOther") == [("A", 2, "Other")]


def test_models_between_the_given_and_the_wanted_table_are_made(run_model):
    assert run_model("crew_sizes", installs="install_id | crew\n D1 | A").pick("crew", "doors") == [("A", 1)]


def test_an_empty_input_keeps_the_declared_types(run_model):
    frame = run_model("crew_sizes").frame
    assert frame.height == 0
    assert [str(kind) for kind in frame.dtypes] == ["String", "Int64", "String"]


def test_a_column_that_the_table_does_not_have_is_refused(run_model):
    with pytest.raises(AssertionError, match="no column"):
        run_model("doors", installs="install_id | colour_of_sky\n D1 | grey")

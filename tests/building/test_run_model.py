"""The fixture itself, on the firm's graph as it stands and on small graphs of its own."""

from pathlib import Path

import pytest


@pytest.fixture
def model_folders(small_models: Path) -> tuple[Path, Path]:
    return small_models, small_models


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
    assert run_model("crew_sizes", doors=doors) == [("A", 2, 0, "Example Doors")]
    assert run_model("crew_sizes", doors=doors, settings="firm\nOther") == [("A", 2, 0, "Other")]


def test_models_between_the_given_and_the_wanted_table_are_made(run_model):
    assert run_model("crew_sizes", installs="install_id | crew\n D1 | A").pick("crew", "doors") == [("A", 1)]


def test_an_empty_input_keeps_the_declared_types(run_model):
    frame = run_model("crew_sizes").frame
    assert frame.height == 0
    assert [str(kind) for kind in frame.dtypes] == ["String", "Int64", "Int64", "String"]


def test_a_column_that_the_table_does_not_have_is_refused(run_model):
    with pytest.raises(AssertionError, match="no column"):
        run_model("doors", installs="install_id | colour_of_sky\n D1 | grey")

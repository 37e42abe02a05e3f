"""What if: tables with some inputs replaced, made aside, while what was built stays as it is."""

from collections.abc import Iterator
from pathlib import Path

import duckdb
import polars as pl
import pytest

from pipeline.building import evaluation
from pipeline.building.build import BuildInputs, build_results
from pipeline.building.evaluation import Evaluator
from pipeline.graph import Graph
from pipeline.model_files import ModelError
from pipeline.progress import Silence
from pipeline.warehouse import attach, connect, mirror_views
from tests.building.conftest import graph_of
from tests.conftest import DEFAULT_SETTINGS, rows_of

ASKING = '''"""half_firm: crew sizes were every second door left out.
grain: one row per crew
key: crew
columns:
  crew    text      key
  doors   integer   doors left
"""


def build(crew_sizes, doors, evaluate):
    """Asks for the table again over fewer doors."""
    return evaluate("crew_sizes", doors=doors.gather_every(2)).select("crew", "doors")
'''


@pytest.fixture
def graph(small_models: Path) -> Graph:
    return graph_of(small_models)


@pytest.fixture
def built(graph: Graph, inputs: BuildInputs, tmp_path: Path) -> Iterator[duckdb.DuckDBPyConnection]:
    """A connection on published results and records, as a later command opens it."""
    build_results(inputs, tmp_path / "results.duckdb", Silence(), graph=graph)
    with connect() as connection:
        attach(connection, tmp_path / "results.duckdb", "results")
        attach(connection, inputs.records, "records")
        mirror_views(connection)
        connection.execute(f"CREATE VIEW memory.main.seen_doors AS {graph.models['seen_doors'].text}")
        yield connection


def doors(*crews: str) -> pl.DataFrame:
    return pl.DataFrame({"install_id": [f"X{n}" for n in range(len(crews))], "crew": crews, "area_m2": None})


def test_nothing_replaced_gives_what_was_built(built, graph):
    assert Evaluator(built, graph).evaluate("crew_sizes").rows() == [
        ("A", 2, 1, "Example Doors"),
        ("B", 1, 0, "Example Doors"),
    ]


def test_a_frame_a_relation_and_a_query_may_stand_for_an_input(built, graph):
    evaluator = Evaluator(built, graph)
    from_frame = evaluator.evaluate("crew_sizes", doors=doors("C", "C"))
    assert from_frame.rows() == [("C", 2, 0, "Example Doors")]
    relation = duckdb.sql("SELECT 'D1' AS install_id, 'D' AS crew, 1 AS area_m2")
    assert evaluator.evaluate("crew_sizes", doors=relation).rows() == [("D", 1, 1, "Example Doors")]
    query = "SELECT * REPLACE (lower(crew) AS crew) FROM doors"
    assert [row[0] for row in evaluator.evaluate("crew_sizes", doors=query).rows()] == ["a", "b"]


def test_a_replaced_record_reaches_the_wanted_table_through_a_view(built, graph):
    seen = "SELECT * REPLACE ('D3' AS install_id) FROM readings"
    assert Evaluator(built, graph).evaluate("crew_sizes", readings=seen)["seen"].to_list() == [0, 1]


def test_what_was_built_stays_and_the_scratch_goes(built, graph):
    Evaluator(built, graph).evaluate("crew_sizes", doors=doors("C"))
    assert built.execute("SELECT count(*) FROM doors").fetchall() == [(3,)]
    names = [row[0] for row in built.execute("SELECT database_name FROM duckdb_databases()").fetchall()]
    assert not [name for name in names if name.startswith("scratch")]


def test_tables_that_the_change_does_not_reach_are_not_made_again(built, graph, monkeypatch):
    made: list[str] = []
    make = evaluation.make_table
    monkeypatch.setattr(evaluation, "make_table", lambda *rest: (made.append(rest[2]), make(*rest)))
    Evaluator(built, graph).evaluate("crew_sizes", settings=DEFAULT_SETTINGS)
    assert made == ["crew_sizes"]


def test_a_model_may_ask_for_what_lies_upstream(model_folder, small_models, inputs, tmp_path):
    graph = graph_of(model_folder({"marts/half_firm.py": ASKING}))
    build_results(inputs, tmp_path / "results.duckdb", Silence(), graph=graph)
    with duckdb.connect(tmp_path / "results.duckdb") as results:
        assert results.execute("FROM half_firm ORDER BY crew").fetchall() == [("A", 1), ("B", 1)]


def test_a_model_that_asks_may_itself_be_evaluated(model_folder, small_models):
    model_folder({"marts/half_firm.py": ASKING})
    given = {"doors": "install_id | crew\n D1 | A\n D2 | B\n D3 | C"}
    rows = rows_of((small_models, small_models), "half_firm", given)
    assert rows == [("A", 1), ("C", 1)]


def test_a_model_may_not_ask_for_what_it_does_not_read(model_folder, small_models, inputs, tmp_path):
    asking = ASKING.replace("crew_sizes, doors, evaluate", "doors, evaluate")
    graph = graph_of(model_folder({"marts/half_firm.py": asking}))
    with pytest.raises(ModelError, match="crew_sizes does not lie upstream; add it to the arguments of build"):
        build_results(inputs, tmp_path / "results.duckdb", Silence(), graph=graph)


def test_a_table_that_is_not_known_is_named(built, graph):
    with pytest.raises(ModelError, match="no table is called dors"):
        Evaluator(built, graph).evaluate("crew_sizes", dors=doors("C"))

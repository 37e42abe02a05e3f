"""Tables take turns: each after all that it reads, those that most others wait for beside, and the heavy one last."""

import pytest

from pipeline.building.turns import Turns
from pipeline.graph import Graph, make_graph
from pipeline.model_files import find_models

PYTHON = """\"\"\"{name}: some numbers.

grain: one row
key: n
{order}columns:
  n  integer  key
\"\"\"


def build({reads}):
    pass
"""


@pytest.fixture
def graph(tmp_path) -> Graph:
    """`doors` by SQL; `few` and `many` read it in Python; `by_many` and `also` read `many`; `heavy` loads much."""
    (tmp_path / "sql/marts").mkdir(parents=True)
    (tmp_path / "py/marts").mkdir(parents=True)
    head = "-- doors: every door.\n-- grain: one row\n-- key: n\n-- columns:\n--   n  integer  key\n"
    (tmp_path / "sql/marts/doors.sql").write_text(head + "SELECT 1 AS n FROM installs\n", encoding="utf-8")
    reads = {"few": "doors", "many": "doors", "by_many": "many", "also": "many", "heavy": "doors"}
    reads["asking"] = "doors, evaluate"
    for name, read in reads.items():
        order = "order: last\n" if name == "heavy" else ""
        text = PYTHON.format(name=name, order=order, reads=read)
        (tmp_path / f"py/marts/{name}.py").write_text(text, encoding="utf-8")
    return make_graph(find_models(tmp_path / "sql", tmp_path / "py"), ["installs"])


@pytest.fixture
def turns(graph) -> Turns:
    return Turns(graph, list(graph.models))


def made(turns: Turns, *tables: str) -> None:
    for table in tables:
        turns.begin(table)
        turns.end(table)


def test_nothing_begins_before_what_it_reads_is_made(turns):
    assert turns.for_side() is None
    assert turns.for_first(spares_sides=False) == "doors"
    turns.begin("doors")
    assert (turns.for_side(), turns.for_first(spares_sides=False)) == (None, None)
    turns.end("doors")
    assert turns.for_side() is not None


def test_what_most_others_wait_for_goes_first_and_what_loads_much_last(turns):
    made(turns, "doors")
    order = []
    while (table := turns.for_side()) is not None:
        order.append(table)
        made(turns, table)
    assert order[0] == "many"
    assert order[-1] == "heavy"
    assert sorted(order) == ["also", "by_many", "few", "heavy", "many"]


def test_the_first_process_keeps_what_asks_for_other_tables_and_spares_the_rest(turns):
    made(turns, "doors")
    assert turns.for_first(spares_sides=True) == "asking"
    made(turns, "asking")
    assert turns.for_first(spares_sides=True) is None
    assert turns.for_first(spares_sides=False) is not None


def test_alone_the_first_process_makes_all_in_build_order(graph, turns):
    order = []
    while turns.n_unmade:
        order.append(turns.for_first(spares_sides=False))
        made(turns, order[-1])
    assert order == list(graph.models)

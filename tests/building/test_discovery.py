"""Files become models: names, headers, what they read, their order and their layers."""

import pytest

from pipeline.model_files import ModelError, read_header
from tests.building.conftest import graph_of


def sql(name: str, select: str) -> str:
    return f"-- {name}: for a test.\n-- grain: one row per a\n-- key: a\n-- columns:\n--   a  integer  key\n{select}\n"


def test_a_header_gives_purpose_grain_key_and_columns():
    header = read_header(
        "door_time",
        [
            " door_time: how long each door was watched,",
            " counted in years.",
            " grain: one row per install_id",
            ' key: install_id, "check"',
            " left out: doors without a crew",
            " columns:",
            "   install_id   text     key",
            '   "check"      text     what was looked at',
            "   door_years   double   years at risk,",
            "                         0 or more",
            "",
            "Source: anything may follow.",
        ],
    )
    assert header.purpose == "how long each door was watched, counted in years."
    assert header.key == ("install_id", "check")
    assert header.left_out == "doors without a crew"
    assert [column.name for column in header.columns] == ["install_id", "check", "door_years"]
    assert header.columns[2].meaning == "years at risk, 0 or more"
    assert header.columns[2].duckdb_type == "DOUBLE"
    assert not header.is_view


@pytest.mark.parametrize(
    ("lines", "message"),
    [
        ([" other: x"], "must open with 'door_time:"),
        ([" door_time: x", " key: a", " columns:", "   a text key"], "lacks its grain"),
        ([" door_time: x", " grain: y", " key: b", " columns:", "   a text key"], "the key must name columns"),
        ([" door_time: x", " grain: y", " key: none", " columns:", "   a text key"], "the key must name columns"),
        ([" door_time: x", " grain: y", " key: a", " columns:", "   a varchar key"], "'a varchar key' is not"),
    ],
)
def test_a_header_that_is_not_whole_is_refused(lines, message):
    with pytest.raises(ModelError, match=message):
        read_header("door_time", lines)


def test_a_table_that_is_made_last_stands_after_all_others_and_none_may_read_it(model_folder):
    first = sql("alpha", "select 1 as a from installs").replace("-- columns:", "-- order: last\n-- columns:")
    files = {"staging/alpha.sql": first, "marts/zeta.sql": sql("zeta", "select 1 as a from installs")}
    assert list(graph_of(model_folder(files)).models) == ["zeta", "alpha"]
    with pytest.raises(ModelError, match=r"marts/zeta\.sql reads alpha, which is made last"):
        graph_of(model_folder({**files, "marts/zeta.sql": sql("zeta", "select a from alpha")}))


def test_tables_stand_after_what_they_read(model_folder):
    folder = model_folder(
        {
            "staging/zeta.sql": sql("zeta", "select 1 as a from installs"),
            "exposure/beta.sql": sql("beta", "select a from zeta"),
            "marts/alpha.sql": sql("alpha", "select a from beta join zeta using (a)"),
        }
    )
    graph = graph_of(folder)
    assert list(graph.models) == ["zeta", "beta", "alpha"]
    assert graph.upstream("alpha") == {"beta", "zeta", "installs"}
    assert graph.downstream(["zeta"]) == {"beta", "alpha"}
    assert graph.between(["beta"], "alpha") == ["alpha"]
    assert graph.between(["installs"], "beta") == ["zeta", "beta"]


def test_two_files_of_one_name_are_refused(model_folder):
    select = sql("twice", "select 1 as a from installs")
    folder = model_folder({"staging/twice.sql": select, "marts/twice.sql": select})
    with pytest.raises(ModelError, match=r"marts/twice\.sql and staging/twice\.sql both make the table twice"):
        graph_of(folder)


def test_a_table_that_no_file_makes_is_named_with_the_nearest_name(model_folder):
    folder = model_folder({"staging/doors.sql": sql("doors", "select 1 as a from instals")})
    with pytest.raises(ModelError, match=r"staging/doors\.sql reads instals, which .*did you mean installs"):
        graph_of(folder)


def test_a_model_may_not_take_the_name_of_a_source(model_folder):
    folder = model_folder({"staging/crews.sql": sql("crews", "select 1 as a from installs")})
    with pytest.raises(ModelError, match="crews is a source table"):
        graph_of(folder)


def test_a_circle_is_named(model_folder):
    folder = model_folder(
        {
            "staging/one.sql": sql("one", "select a from two"),
            "staging/two.sql": sql("two", "select a from one"),
        }
    )
    with pytest.raises(ModelError, match=r"circle: (one -> two -> one|two -> one -> two)"):
        graph_of(folder)


def test_a_layer_may_not_read_upwards(model_folder):
    folder = model_folder(
        {
            "staging/staged_installs.sql": sql("staged_installs", "select a from door_time"),
            "exposure/door_time.sql": sql("door_time", "select 1 as a from installs"),
        }
    )
    breach = "staged_installs reads door_time; staging may read only records and itself"
    with pytest.raises(ModelError, match=breach):
        graph_of(folder)


def test_a_folder_that_is_no_layer_is_refused(model_folder):
    folder = model_folder({"extras/doors.sql": sql("doors", "select 1 as a from installs")})
    with pytest.raises(ModelError, match=r"extras/doors\.sql: the folder must be one of staging"):
        graph_of(folder)


@pytest.mark.parametrize("select", ["create table t as select 1", "select 1; select 2", "selec 1 frm x where ("])
def test_a_sql_file_that_is_not_one_select_is_named(model_folder, select):
    folder = model_folder({"staging/doors.sql": sql("doors", select)})
    with pytest.raises(ModelError, match=r"doors\.sql: (write exactly one SELECT|the SQL cannot be parsed)"):
        graph_of(folder)


def test_a_python_model_without_build_is_refused(model_folder):
    folder = model_folder({"marts/doors.py": '"""doors: x.\ngrain: y\nkey: a\ncolumns:\n  a text key\n"""\n'})
    with pytest.raises(ModelError, match=r"doors\.py: define one function build"):
        graph_of(folder)

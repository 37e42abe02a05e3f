"""Every SQL file: one plain SELECT, in the subset that carries to Spark, listing the columns of its header."""

from importlib.resources import files
from pathlib import Path

import pytest
import sqlglot
from sqlglot import exp

from pipeline.graph import standard_graph

SQL_FILES = sorted(Path(str(files("dbt_like_sql"))).rglob("*.sql"))
# Functions that mean something else in Spark, or are unknown to it (measured with sqlglot 30 and Spark 4).
NOT_IN_SPARK = (
    exp.Pivot,
    exp.Bracket,
    exp.Slice,
    exp.PercentileCont,
    exp.PercentileDisc,
    exp.Median,
)
UNKNOWN_TO_SPARK = {
    "LIST_ZIP", "LIST_AGGREGATE", "LIST_SUM", "LIST_REDUCE", "LEN", "LIST_UNIQUE", "TIME_BUCKET", "HISTOGRAM", "MAD",
    "HASH", "PRINTF", "TO_MONTHS", "DAYOFWEEK", "STRUCT_EXTRACT", "LIST_HAS_ANY",
}  # fmt: skip


@pytest.fixture(scope="module")
def graph():
    return standard_graph()


def name_of(path: Path) -> str:
    return path.stem


def parsed(path: Path) -> exp.Expression:
    return sqlglot.parse_one(path.read_text(encoding="utf-8"), read="duckdb")


@pytest.mark.parametrize("path", SQL_FILES, ids=name_of)
def test_each_file_is_one_select_without_ddl(path):
    statements = sqlglot.parse(path.read_text(encoding="utf-8"), read="duckdb")
    assert len(statements) == 1
    assert isinstance(statements[0], exp.Select | exp.Union)


@pytest.mark.parametrize("path", SQL_FILES, ids=name_of)
def test_each_file_carries_to_spark(path):
    spark = sqlglot.transpile(path.read_text(encoding="utf-8"), read="duckdb", write="spark")[0]
    assert sqlglot.parse_one(spark, read="spark")
    tree = parsed(path)
    assert not list(tree.find_all(*NOT_IN_SPARK))
    called = {node.name.upper() for node in tree.find_all(exp.Anonymous)}
    assert not called & UNKNOWN_TO_SPARK
    for lambda_ in tree.find_all(exp.Lambda):
        # an index as second argument counts from 1 here and from 0 there
        assert len(lambda_.expressions) == 1


@pytest.mark.parametrize("path", SQL_FILES, ids=name_of)
def test_each_header_lists_the_columns_that_the_select_gives(path, graph):
    model = graph.models[path.stem]
    assert [column.name for column in model.header.columns] == parsed(path).named_selects


@pytest.mark.parametrize("path", SQL_FILES, ids=name_of)
def test_each_file_is_written_in_lower_case_within_the_line_length(path):
    for line in path.read_text(encoding="utf-8").splitlines():
        code = line.split("--")[0]
        outside_texts = "".join(code.split("'")[::2])
        assert outside_texts == outside_texts.lower()
        assert len(line) <= 120


def test_there_are_sql_files_to_check():
    assert len(SQL_FILES) > 10

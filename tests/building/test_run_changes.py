"""What a run finds otherwise than the last one: told once, kept while nothing else changes."""

from collections.abc import Iterator
from typing import Any

import duckdb
import pytest

from pipeline.building.run_changes import write_run_changes

CAUSE = "SELECT 'sill_bow' AS deviation, 'draught' AS fault, 'cause' AS role, {} AS evidence, 1.5 AS contrast_ratio, \
1.1 AS contrast_low, 2.0 AS contrast_high"
RATE = "SELECT {} AS crew, {} AS rate, 9.0 AS rate_low, 12.0 AS rate_high, {} AS funnel, 1.2 AS fair_ratio, \
0.9 AS fair_low, 1.5 AS fair_high"


def fill(connection: Any, of: str, doors: int = 5, evidence: str = "none", funnel: str = "inside") -> None:
    """Writes into `of` the tables that are compared."""
    rates = [RATE.format("'all'", doors, "'inside'"), RATE.format("'K1'", 10, f"'{funnel}'")]
    for table, query in {
        "staged_installs": f"SELECT unnest(range({doors})) AS install_id",
        "staged_callbacks": "SELECT unnest(range(3)) AS callback_id",
        "effects": CAUSE.format(f"'{evidence}'"),
        "callback_rates": " UNION ALL ".join(rates),
        "runs": f"SELECT 'run {of} {doors}' AS run_id, DATE '2026-05-31' AS as_of",
    }.items():
        connection.execute(f"CREATE OR REPLACE TABLE {of}.main.{table} AS {query}")


@pytest.fixture
def connection() -> Iterator[Any]:
    with duckdb.connect() as opened:
        opened.execute("ATTACH ':memory:' AS results; ATTACH ':memory:' AS previous")
        yield opened


def changes(connection: Any) -> dict[str, tuple[Any, ...]]:
    """state, value, state before, value before by kind."""
    query = 'SELECT kind, state, "value", state_before, value_before FROM results.main.run_changes'
    return {kind: tuple(rest) for kind, *rest in connection.execute(query).fetchall()}


def test_the_first_run_has_nothing_before_it(connection: Any) -> None:
    fill(connection, "results")
    write_run_changes(connection, has_before=False)
    assert changes(connection) == {}


def test_counts_rates_strong_causes_and_crews_outside_are_compared(connection: Any) -> None:
    fill(connection, "previous")
    fill(connection, "results", doors=7, evidence="strong", funnel="above")
    write_run_changes(connection, has_before=True)
    assert changes(connection) == {
        "doors": (None, 7.0, None, 5.0),
        "rate": (None, 7.0, None, 5.0),
        "cause": ("strong", 1.5, "none", 1.5),
        "crew": ("above", 1.2, "inside", 1.2),
    }


def test_a_hint_that_comes_or_goes_is_no_change(connection: Any) -> None:
    fill(connection, "previous")
    fill(connection, "results", evidence="suggestive")
    write_run_changes(connection, has_before=True)
    assert changes(connection) == {}


def test_a_run_on_the_same_records_keeps_what_the_last_one_told(connection: Any) -> None:
    fill(connection, "previous")
    fill(connection, "results", doors=7)
    write_run_changes(connection, has_before=True)
    told = changes(connection)
    connection.execute("DETACH previous; ATTACH ':memory:' AS previous")
    fill(connection, "previous", doors=7)
    connection.execute("CREATE TABLE previous.main.run_changes AS FROM results.main.run_changes")
    connection.execute("DROP TABLE results.main.run_changes")
    write_run_changes(connection, has_before=True)
    assert changes(connection) == told != {}


def test_results_that_lack_a_column_are_no_run_before(connection: Any) -> None:
    fill(connection, "results")
    fill(connection, "previous", doors=7)
    connection.execute("ALTER TABLE previous.main.effects DROP COLUMN role")
    write_run_changes(connection, has_before=True)
    assert changes(connection) == {}


def test_results_of_an_older_fitback_are_no_run_before(connection: Any) -> None:
    fill(connection, "results")
    connection.execute("CREATE TABLE previous.main.runs AS SELECT 'old' AS run_id, DATE '2026-05-31' AS as_of")
    write_run_changes(connection, has_before=True)
    assert changes(connection) == {}

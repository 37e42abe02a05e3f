"""Writes the tables of the contract from results.duckdb as Parquet and CSV, in the order of their keys.

CSV is safe to open in a spreadsheet: text that would be read as a formula gets an apostrophe; numbers are the
shortest that read back the same; nothing is inf or nan; empty is null.
"""

from pathlib import Path
from typing import TYPE_CHECKING

from pipeline.books import FORMULA_START
from pipeline.building.table_making import quoted, row_order
from pipeline.crew_codes import Codes, lay_over
from pipeline.graph import Graph, standard_graph
from pipeline.warehouse import escaped, open_results

if TYPE_CHECKING:
    import duckdb

PUBLISHED = (
    "set_aside",
    "corrections",
    "unread_columns",
    "linked_callbacks",
    "coded_callbacks",
    "deviations",
    "limit_decisions",
    "record_credibility",
    "callback_rates",
    "through_steps",
    "effects",
    "effect_by",
    "example_doors",
    "effect_sensitivity",
    "instrument_blur",
    "dose_response",
    "limit_advice",
    "callback_causes",
    "first_causes",
    "weak_steps",
    "usual_sides",
    "watch_list",
    "training_effects",
    "signals",
    "signal_charts",
    "outlook",
    "recheck",
    "model_checks",
    "outlook_backtest",
    "development",
    "late_paper",
    "paper_delays",
    "limit_comparison",
    "data_checks",
    "expectation_checks",
    "intake_account",
    "callback_months",
    "year_change",
    "explore_time",
    "explore_faults",
    "explore_steps",
    "crew_outs",
    "doubtful_links",
    "link_rates",
    "note_disagreements",
    "recorded_steps",
)
MOST_CSV_ROWS = 1_000_000


def export_tables(results: Path, folder: Path, graph: Graph | None = None, codes: Codes | None = None) -> list[str]:
    """Writes each published table into `folder` and returns their names; those not built yet are left out.

    codes  what every crew is shown as, by name; None: as the records name it
    A table of more than MOST_CSV_ROWS rows comes as Parquet only.
    """
    graph = graph or standard_graph()
    folder.mkdir(parents=True, exist_ok=True)
    names = [name for name in PUBLISHED if name in graph.models]
    with open_results(results) as connection:
        if codes:
            lay_over(connection, codes)
        for name in names:
            _export(connection, graph, name, folder)
    return names


def _export(connection: "duckdb.DuckDBPyConnection", graph: Graph, table: str, folder: Path) -> None:
    columns = [(row[0], row[1]) for row in connection.execute(f"DESCRIBE {quoted(table)}").fetchall()]
    order = row_order(graph, table)
    _copy(connection, table, [_finite(*column) for column in columns], order, folder / f"{table}.parquet")
    n_rows = connection.execute(f"SELECT count(*) FROM {quoted(table)}").fetchall()[0][0]
    if n_rows <= MOST_CSV_ROWS:
        _copy(connection, table, [_csv_cell(*column) for column in columns], order, folder / f"{table}.csv")


def _copy(connection: "duckdb.DuckDBPyConnection", table: str, cells: list[str], order: str, path: Path) -> None:
    form = "FORMAT parquet, COMPRESSION zstd" if path.suffix == ".parquet" else "FORMAT csv, HEADER true"
    # the order is that of the table's own columns, not of the cells made from them
    select = f"SELECT {', '.join(cells)} FROM (FROM {quoted(table)} {order}) AS rows"
    connection.execute(f"COPY ({select}) TO '{escaped(path)}' ({form})")


def _finite(name: str, kind: str) -> str:
    column = quoted(name)
    return f"CASE WHEN isfinite({column}) THEN {column} END AS {column}" if kind in ("DOUBLE", "FLOAT") else column


def _csv_cell(name: str, kind: str) -> str:
    column = quoted(name)
    if kind != "VARCHAR":
        return _finite(name, kind)
    return f"CASE WHEN regexp_matches({column}, '{FORMULA_START}') THEN '''' || {column} ELSE {column} END AS {column}"

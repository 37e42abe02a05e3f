"""The table `run_changes`: what a run finds otherwise than the last one did, in the few figures that a letter compares.

Written beside `runs` at the end of a build, since it reads the last results, which no model may. Where nothing is
otherwise, what the last run told of the one before it stays: to run twice loses nothing.

grain: one row per figure that is not as it was
key: kind, deviation, fault, crew
columns:
  kind          text     doors, callbacks, rate, cause (strong now or then) or crew (outside the funnel now or then)
  deviation     text     of a cause
  fault         text     of a cause
  crew          text     of a crew; else all
  state         text     evidence of a cause, place of a crew in the funnel; empty where it has none now
  value         double   how many, the rate, the contrast ratio or the fair ratio; empty where there is none now
  low           double   lower end of its 95 % interval; empty for counts
  high          double   upper end
  state_before  text     the same of the last run
  value_before  double
  low_before    double
  high_before   double
  run_before    text     the last run
  as_of_before  date     the day that its records ran to
"""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import duckdb

TABLE = "run_changes"
COMPARED = {"staged_installs", "staged_callbacks", "callback_rates", "effects"}
_FOUND = """
    SELECT 'doors' AS kind, NULL AS deviation, NULL AS fault, 'all' AS crew, NULL AS state,
        CAST(count(*) AS DOUBLE) AS "value", NULL AS low, NULL AS high
    FROM {of}.main.staged_installs
    UNION ALL
    SELECT 'callbacks', NULL, NULL, 'all', NULL, count(*), NULL, NULL FROM {of}.main.staged_callbacks
    UNION ALL
    SELECT 'rate', NULL, NULL, 'all', NULL, rate, rate_low, rate_high FROM {of}.main.callback_rates WHERE crew = 'all'
    UNION ALL
    SELECT 'cause', deviation, fault, 'all', evidence, contrast_ratio, contrast_low, contrast_high
    FROM {of}.main.effects WHERE role = 'cause'
    UNION ALL
    SELECT 'crew', NULL, NULL, crew, funnel, fair_ratio, fair_low, fair_high
    FROM {of}.main.callback_rates WHERE crew <> 'all'
"""


def _changes(before: str) -> str:
    """SQL that makes the table. before: the database in which the last results lie."""
    # digits beyond the eighth differ with the order in which threads add up
    return f"""
    CREATE TABLE results.main.{TABLE} AS
    WITH now AS ({_FOUND.format(of="results")}),
    before AS ({_FOUND.format(of=before)})
    SELECT coalesce(now.kind, before.kind) AS kind, coalesce(now.deviation, before.deviation) AS deviation,
        coalesce(now.fault, before.fault) AS fault, coalesce(now.crew, before.crew) AS crew,
        now.state, now."value", now.low, now.high, before.state AS state_before, before."value" AS value_before,
        before.low AS low_before, before.high AS high_before, last.run_id AS run_before, last.as_of AS as_of_before
    FROM now
    FULL JOIN before ON before.kind = now.kind AND before.crew = now.crew
        AND before.deviation IS NOT DISTINCT FROM now.deviation AND before.fault IS NOT DISTINCT FROM now.fault
    CROSS JOIN {before}.main.runs AS last
    WHERE CASE coalesce(now.kind, before.kind)
        WHEN 'cause' THEN (now.state = 'strong') IS DISTINCT FROM (before.state = 'strong')
            AND 'strong' IN (coalesce(now.state, ''), coalesce(before.state, ''))
        WHEN 'crew' THEN coalesce(now.state, '') <> coalesce(before.state, '')
            AND (now.state IN ('above', 'below') OR before.state IN ('above', 'below'))
        ELSE abs(now."value" - before."value") > 1e-8 * abs(now."value")
            OR (now."value" IS NULL) <> (before."value" IS NULL)
        END
    ORDER BY ALL
"""


def write_run_changes(connection: "duckdb.DuckDBPyConnection", has_before: bool) -> None:
    """Writes the table into `results`. has_before: the last results are attached as `previous`, and can be read."""
    import duckdb

    if has_before:
        try:
            connection.execute(_changes("previous"))
            if connection.execute(f"SELECT count(*) FROM results.main.{TABLE}").fetchall()[0][0] == 0:
                connection.execute(f"INSERT INTO results.main.{TABLE} BY NAME FROM previous.main.{TABLE}")
            return
        except (duckdb.CatalogException, duckdb.BinderException):  # of an older fitback: a table or a column is wanting
            connection.execute(f"DROP TABLE IF EXISTS results.main.{TABLE}")
    connection.execute(f"{_changes('results')} LIMIT 0")

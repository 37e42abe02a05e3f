"""expectation_checks: what came of each expectation on the records, built in and the firm's own. Nothing is set aside.

grain: one row per expectation
key: expectation
order: last
columns:
  expectation   text     key; the claim that should hold
  record        text     table it is about
  expect        text     kind of expectation, as the library names it
  outcome       text     met, not met, nothing to check, or not evaluated: that one says nothing about the records
  rows_checked  integer  rows that it looked at; empty where it looks at the whole table
  rows_failing  integer  rows that are otherwise; met may allow some
  example       text     key of the first of these
  is_own        boolean  true: the firm's own, from fitback.toml
  sentence      text     what it is, how many of how many, what to do
"""

import polars as pl

from pipeline.validate.suites import evaluated

SCHEMA = {
    "expectation": pl.String, "record": pl.String, "expect": pl.String, "outcome": pl.String, "rows_checked": pl.Int64,
    "rows_failing": pl.Int64, "example": pl.String, "is_own": pl.Boolean, "sentence": pl.String,
}  # fmt: skip


def build(
    catalogue_expectations: pl.DataFrame,
    staged_installs: pl.DataFrame,
    staged_callbacks: pl.DataFrame,
    crews: pl.DataFrame,
    training: pl.DataFrame,
    instruments: pl.DataFrame,
    reading_profile: pl.DataFrame,
    check_profile: pl.DataFrame,
) -> pl.DataFrame:
    """One row per expectation."""
    tables = {
        "installs": staged_installs, "callbacks": staged_callbacks, "crews": crews, "training": training,
        "instruments": instruments, "reading_profile": reading_profile, "check_profile": check_profile,
    }  # fmt: skip
    rows = catalogue_expectations.select("name", "table", "expect", "arguments", "words", "is_own").to_dicts()
    found = [
        (
            row["name"], row["table"], row["expect"], outcome.outcome, outcome.rows_checked, outcome.rows_failing,
            outcome.example, row["is_own"], outcome.sentence,
        )
        for row, outcome in zip(rows, evaluated(rows, tables), strict=True)
    ]  # fmt: skip
    return pl.DataFrame(found, schema=SCHEMA, orient="row")

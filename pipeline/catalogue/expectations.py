"""What the records should be like: the built-in suites of `expectations.toml` and the firm's own rows.

Both are written alike. Whether an expectation can be evaluated is known only where that is done (`pipeline/validate`).
"""

import json
import tomllib
from datetime import date
from importlib.resources import files
from typing import Any

from pipeline.catalogue.rows import Expectation
from pipeline.errors import UserError, did_you_mean

Table = dict[str, Any]

EXPECTATION_KEY = "expectation"
KEYS = ("name", "table", "expect", "with", "words")
REQUIRED = ("name", "table", "expect")
# One row per door, callback, crew, session or instrument; of readings and checks one row per measure and check.
TABLES = ("installs", "callbacks", "crews", "training", "instruments", "reading_profile", "check_profile")


def load_expectations(firm: Table) -> tuple[Expectation, ...]:
    """The built-in expectations with the firm's own; one of the firm's takes the place of a built-in one of its name.

    firm  the parsed fitback.toml
    Raises UserError, one sentence that names row and key, for an unknown or missing key, table or kind of value.
    """
    own = [_checked(number, row) for number, row in enumerate(_rows(firm), start=1)]
    names = [row["name"] for row in own]
    twice = next((name for name in names if names.count(name) > 1), None)
    if twice:
        raise UserError(f"fitback.toml, [[expectation]] {twice}: this name stands twice; give each its own.")
    built_in = tomllib.loads(files("pipeline.catalogue").joinpath("expectations.toml").read_text(encoding="utf-8"))
    kept = [row for row in built_in[EXPECTATION_KEY] if row["name"] not in names]
    return (*(_expectation(row) for row in kept), *(_expectation(row, is_own=True) for row in own))


def _rows(firm: Table) -> list[Table]:
    rows = firm.get(EXPECTATION_KEY, [])
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        raise UserError("fitback.toml: write each expectation as a table under [[expectation]].")
    return rows


def _checked(number: int, row: Table) -> Table:
    where = f"fitback.toml, [[expectation]] {row.get('name', f'number {number}')}"
    for key, value in row.items():
        if key not in KEYS:
            hint = did_you_mean(key, list(KEYS)) or "; what the expectation takes stands under with = { ... }"
            raise UserError(f"{where}: '{key}' is not a key of an expectation{hint}")
        if key == "with" and not isinstance(value, dict):
            raise UserError(f'{where}: with must be a table, such as with = {{ column = "width_mm" }}.')
        if key != "with" and (not isinstance(value, str) or not value.strip()):
            raise UserError(f"{where}: {key} = {value!r} must be a text.")
    missing = [key for key in REQUIRED if key not in row]
    if missing:
        raise UserError(f"{where}: '{missing[0]}' is missing; add it.")
    if row["table"] not in TABLES:
        raise UserError(f"{where}: table '{row['table']}' must be one of {', '.join(TABLES)}.")
    return row


def _expectation(row: Table, is_own: bool = False) -> Expectation:
    arguments = json.dumps(row.get("with", {}), default=_written, sort_keys=True)
    return Expectation(row["name"], row["table"], row["expect"], arguments, row.get("words", ""), is_own)


def _written(value: object) -> str:
    return value.isoformat() if isinstance(value, date) else str(value)

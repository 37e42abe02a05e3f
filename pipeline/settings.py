"""The firm's settings: fitback.toml, checked key by key. Never reads records; the catalogue part is passed on."""

import tomllib
from dataclasses import asdict, dataclass, fields, replace
from datetime import date, datetime
from math import isfinite
from pathlib import Path
from typing import Any, get_type_hints

import polars as pl

from pipeline.catalogue import Catalogue, load_catalogue
from pipeline.catalogue.customs import CUSTOM_KEYS
from pipeline.catalogue.expectations import EXPECTATION_KEY
from pipeline.catalogue.reader import FIRM_TABLES
from pipeline.errors import UserError, did_you_mean

SETTINGS_FILE = "fitback.toml"
# The tables that say how the firm's own sheets are read; ingest understands them.
SHEETS_KEY = "sheet"
# Other numbers of a job, each with the job's own number; linking understands them.
ALIASES_KEY = "job_alias"
# Columns that are left out of files in our own form; ingest understands them.
IGNORE_KEY = "ignore"
# Keys of fitback.toml that are no settings: others read them.
OTHER_KEYS = (*FIRM_TABLES, *CUSTOM_KEYS, EXPECTATION_KEY, SHEETS_KEY, ALIASES_KEY, IGNORE_KEY)

_POLARS_TYPES: dict[Any, Any] = {
    str: pl.String,
    str | None: pl.String,
    date | None: pl.Date,
    float | None: pl.Float64,
    bool: pl.Boolean,
    int: pl.Int64,
}


@dataclass(frozen=True)
class Settings:
    """What a firm may say of its records. Dates are days; money is in the firm's currency.

    as_of                    the day the records were drawn; later dates are set aside
    callbacks_from           first day the callback log is complete
    warranty_months          length of the warranty from handover
    log_ends_with_warranty   true: callbacks after the warranty are not in the log
    labour_rate              money per hour, where a callback has hours but no cost
    callback_cost            money per callback, where it has neither
    rework_cost              money to put one door right before handover, else usual hours x labour_rate
    planned_doors_per_month  doors to come, for the outlook
    repeat_days              visits for one door and fault within so many days are one episode
    seed                     start of every random draw
    crew_codes               true: pages, tables and printed answers show crews as codes
    """

    firm: str | None = None
    currency: str | None = None
    as_of: date | None = None
    callbacks_from: date | None = None
    warranty_months: float | None = None
    log_ends_with_warranty: bool = False
    labour_rate: float | None = None
    callback_cost: float | None = None
    rework_cost: float | None = None
    planned_doors_per_month: float | None = None
    repeat_days: int = 28
    seed: int = 1
    crew_codes: bool = False


_KINDS = get_type_hints(Settings)


def load_settings(folder: Path) -> tuple[Settings, Catalogue]:
    """The settings of a folder's fitback.toml and the catalogue with the firm's own rows; defaults without the file.

    Raises UserError, one sentence with the place, for broken TOML, an unknown key (with the nearest known one) or a
    value of the wrong kind.
    """
    table = _read_toml(folder / SETTINGS_FILE)
    known = [field.name for field in fields(Settings)]
    values: dict[str, Any] = {}
    for key, value in table.items():
        if key in OTHER_KEYS:
            continue
        if key not in known:
            hint = did_you_mean(key, [*known, *OTHER_KEYS]) or f"; known keys are {', '.join(known)}."
            raise UserError(f"{SETTINGS_FILE}: '{key}' is not a setting{hint}")
        values[key] = _checked(key, value)
    if values.get("log_ends_with_warranty") and not values.get("warranty_months"):
        raise UserError(f"{SETTINGS_FILE}: log_ends_with_warranty needs warranty_months; add how many months it lasts.")
    _aliases(table)
    _ignored(table)
    return Settings(**values), load_catalogue(table)


def sheet_tables(folder: Path) -> list[dict[str, Any]]:
    """The [[sheet]] tables of a folder's fitback.toml, as parsed. Raises UserError where they are none."""
    tables = _read_toml(folder / SETTINGS_FILE).get(SHEETS_KEY, [])
    if not isinstance(tables, list) or not all(isinstance(table, dict) for table in tables):
        raise UserError(f"{SETTINGS_FILE}: each sheet is a table of its own, headed [[sheet]] in two brackets.")
    return tables


def job_aliases(folder: Path) -> dict[str, str]:
    """Other numbers of a job (order, quote) and the job's own, from [job_alias]. Raises UserError for anything else."""
    return _aliases(_read_toml(folder / SETTINGS_FILE))


def _aliases(settings: dict[str, Any]) -> dict[str, str]:
    table = settings.get(ALIASES_KEY, {})
    if not isinstance(table, dict) or not all(isinstance(job, str) and job.strip() for job in table.values()):
        raise UserError(
            f"{SETTINGS_FILE}: [{ALIASES_KEY}] gives each other number the job's own as a text, "
            'such as "Q-77" = "1042".'
        )
    return dict(table)


def ignored_columns(folder: Path) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Patterns of files, and the headings that a person has left out of them, from [ignore].

    Raises UserError for anything else.
    """
    return _ignored(_read_toml(folder / SETTINGS_FILE))


def _ignored(settings: dict[str, Any]) -> tuple[tuple[str, tuple[str, ...]], ...]:
    table = settings.get(IGNORE_KEY, {})
    lists = table.values() if isinstance(table, dict) else [None]
    if not all(isinstance(names, list) and all(isinstance(name, str) for name in names) for names in lists):
        raise UserError(
            f"{SETTINGS_FILE}: [{IGNORE_KEY}] gives each file, or pattern of files, the columns left out of it, "
            'such as "installs*" = ["Van"].'
        )
    return tuple((file, tuple(names)) for file, names in table.items())


def settings_table(settings: Settings, as_of: date) -> pl.DataFrame:
    """One row: every setting, with as_of as resolved from the records. It is the source table `settings`."""
    row = asdict(replace(settings, as_of=as_of))
    return pl.DataFrame([row], schema={name: _POLARS_TYPES[_KINDS[name]] for name in row})


def _read_toml(path: Path) -> dict[str, Any]:
    if not path.exists():
        return {}
    text = ""
    try:
        text = path.read_text(encoding="utf-8-sig")
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise UserError(f"{SETTINGS_FILE} cannot be read: {_plain(str(error), text)}; correct that line.") from None
    except UnicodeDecodeError:
        raise UserError(f"{SETTINGS_FILE} cannot be read: save it as UTF-8 text.") from None
    except OSError as error:
        raise UserError(f"{SETTINGS_FILE} cannot be read: {error.strerror}.") from None


def _plain(message: str, text: str) -> str:
    n_lines = len(text.rstrip().splitlines())
    message = message.replace("end of document", f"line {n_lines}").replace("(at ", "(")
    message = message.replace("Illegal character '\\n'", "a text has no quotation mark at its end")
    return message[:1].lower() + message[1:]


def _checked(key: str, value: object) -> object:
    kind = _KINDS[key]
    if kind == date | None:
        return _a_day(key, value)
    if kind is bool:
        return _a_flag(key, value)
    if kind in (int, float | None):
        return _a_number(key, value, whole=kind is int)
    if not isinstance(value, str) or not value.strip():
        raise UserError(f'{SETTINGS_FILE}: {key} = {_shown(value)} must be a text, such as "Example Doors".')
    return value.strip()


def _a_day(key: str, value: object) -> date:
    if isinstance(value, datetime):
        return value.date()
    if isinstance(value, str):
        try:
            return date.fromisoformat(value.strip())
        except ValueError:
            pass
    if isinstance(value, date):
        return value
    raise UserError(f"{SETTINGS_FILE}: {key} = {_shown(value)} must be a date, such as 2026-01-31.")


def _a_flag(key: str, value: object) -> bool:
    if isinstance(value, bool):
        return value
    raise UserError(f"{SETTINGS_FILE}: {key} = {_shown(value)} must be true or false.")


def _a_number(key: str, value: object, whole: bool) -> float | int:
    number = value if isinstance(value, int | float) and not isinstance(value, bool) else -1
    if not isfinite(number) or number < 0 or (whole and number != int(number)):
        kind = "whole number" if whole else "number"
        raise UserError(f"{SETTINGS_FILE}: {key} = {_shown(value)} must be a {kind}, zero or more.")
    return int(number) if whole else float(number)


def _shown(value: object) -> str:
    return f"'{value}'" if isinstance(value, str) else str(value)

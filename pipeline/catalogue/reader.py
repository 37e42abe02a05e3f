"""Reads the built-in TOML and the firm's additions into one Catalogue; refuses what contradicts it.

Never touches records. The firm's part arrives as the already parsed tables of its fitback.toml.
"""

import math
import tomllib
from collections.abc import Iterable
from dataclasses import fields, replace
from datetime import date, datetime
from importlib.resources import files
from typing import Any

from pipeline.catalogue.customs import load_customs
from pipeline.catalogue.expectations import load_expectations
from pipeline.catalogue.rows import Catalogue, Check, Deviation, Fault, Gap, Limit, Measure, NoteWord, Pair, Unit
from pipeline.errors import UserError, did_you_mean

Table = dict[str, Any]

FIRM_TABLES = ("measure", "check", "fault", "deviation", "limit", "note_word")
FIRM_KEYS = {
    "measure": ("name", "unit", "low", "high", "words"),
    "check": ("name", "step", "role", "family", "words", "do"),
    "fault": ("name", "words", "meaning"),
    "deviation": ("name", "step", "measure", "how", "unit", "per", "worse", "role", "family", "words", "do"),
    "limit": (
        "name", "deviation", "low", "high", "high_per_m", "along", "product", "material", "from", "source",
        "edition", "status",
    ),
    "note_word": ("says", "means", "fault"),
}  # fmt: skip
REQUIRED_KEYS = {
    "measure": ("name", "unit"),
    "check": ("name", "step"),
    "fault": ("name",),
    "deviation": ("name", "step", "measure", "how", "unit"),
    "limit": ("name", "deviation"),
    "note_word": ("says",),
}
CHOICES = {
    "how": ("value", "spread", "max", "min", "mean", "level", "bow", "step", "difference"),
    "worse": ("higher", "lower", "both"),
    "role": ("cause", "variant", "symptom", "record"),
    "status": ("in use", "for comparison"),
    "along": ("width", "height"),
}
NUMBERS = ("low", "high", "high_per_m", "per")


def load_catalogue(firm: Table | None = None) -> Catalogue:
    """The built-in catalogue with a firm's own measures, checks, faults, deviations and limits.

    firm    the parsed fitback.toml (other keys are ignored here)
    Raises UserError, one sentence that names table, row and key, for an unknown or missing key, a value of the wrong
    kind, a name taken twice, or a reference to something that is not in the catalogue.
    """
    built_in = _built_in()
    own = {kind: _firm_rows(kind, (firm or {}).get(kind, [])) for kind in FIRM_TABLES}
    catalogue = replace(
        built_in,
        measures=built_in.measures + tuple(Measure(**_worded(row), is_own=True) for row in own["measure"]),
        checks=built_in.checks + tuple(Check(**row) for row in own["check"]),
        faults=built_in.faults + tuple(Fault(**_worded(row)) for row in own["fault"]),
        note_words=tuple(NoteWord(**row) for row in own["note_word"]),
    )
    deviations = tuple(Deviation(**row) for row in own["deviation"])
    catalogue = replace(
        catalogue,
        deviations=_with_families(built_in.deviations + deviations + _from_checks(catalogue.checks), own),
        limits=built_in.limits + tuple(_limit(row, is_own=True) for row in own["limit"]),
    )
    _check_names(catalogue)
    _check_references(catalogue, own)
    _check_note_words(catalogue)
    return replace(
        catalogue,
        customs=load_customs(firm or {}, _closed_words(catalogue)),
        expectations=load_expectations(firm or {}),
    )


def _closed_words(catalogue: Catalogue) -> dict[str, list[str]]:
    measures = [row.name for row in catalogue.measures]
    named = [row.name for rows in (catalogue.checks, catalogue.faults) for row in rows]
    lists = [catalogue.words[name] for name in ("outcomes", "responsibilities", "works", "colours")]
    return {"measure": measures, "word": [*catalogue.steps, *measures, *named, *(w for words in lists for w in words)]}


def _built_in() -> Catalogue:
    words = _read("words")
    return Catalogue(
        steps=tuple(words["steps"]),
        words={key: tuple(value) for key, value in words.items()},
        units=tuple(Unit(**_tuples(row)) for row in _read("units")["unit"]),
        measures=tuple(Measure(**_tuples(row)) for row in _read("measures")["measure"]),
        checks=tuple(Check(**row) for row in _read("checks")["check"]),
        faults=tuple(Fault(**row) for row in _read("faults")["fault"]),
        deviations=tuple(Deviation(**row) for row in _read("deviations")["deviation"]),
        limits=tuple(_limit(row) for row in _read("limits")["limit"]),
        pairs=tuple(Pair(name, fault) for name, faults in _read("pairs")["expected"].items() for fault in faults),
        gaps=tuple(_gaps(_read("gaps"))),
    )


def _read(name: str) -> Table:
    return tomllib.loads(files("pipeline.catalogue").joinpath(f"{name}.toml").read_text(encoding="utf-8"))


def _tuples(row: Table) -> Table:
    return {key: tuple(value) if isinstance(value, list) else value for key, value in row.items()}


def _limit(row: Table, is_own: bool = False) -> Limit:
    known = {field.name for field in fields(Limit)}
    values = {("starts_on" if key == "from" else key): value for key, value in row.items()}
    return Limit(**{key: value for key, value in values.items() if key in known}, is_own=is_own)


def _gaps(table: Table) -> Iterable[Gap]:
    bounds = [0.0, *table["bands"]["up_to_mm"]]
    for row in table["gap"]:
        for over, up_to, gap in zip(bounds[:-1], bounds[1:], row["mm"], strict=True):
            yield Gap(row["material"], row.get("colour"), over, up_to, gap)


def _from_checks(checks: tuple[Check, ...]) -> tuple[Deviation, ...]:
    return tuple(
        Deviation(
            name=check.name, step=check.step, how="checks", unit="share", role=check.role, family=check.family,
            kind="act", words=check.words or _plain(check.name) + " failed", do=check.do,
        )
        for check in checks
    )  # fmt: skip


def _with_families(rows: tuple[Deviation, ...], own: dict[str, list[Table]]) -> tuple[Deviation, ...]:
    own_names = {row["name"] for row in own["deviation"]}
    # the family of a measure: of its first built-in cause, else variant, else of the firm's own first cause
    measured = [row for row in reversed(rows) if row.measure and row.role in ("variant", "cause")]
    measured.sort(key=lambda row: (row.name not in own_names, row.role == "cause"))
    by_measure = {row.measure: row.family or row.name for row in measured}

    def family(row: Deviation) -> str:
        if row.family:
            return row.family
        # a firm's own deviation joins the family of its measure unless it says otherwise
        return by_measure.get(row.measure or "", row.name) if row.name in own_names else row.name

    return tuple(replace(row, family=family(row), words=row.words or _plain(row.name)) for row in rows)


def _plain(name: str) -> str:
    return name.replace("_", " ")


def _worded(row: Table) -> Table:
    return {"words": _plain(row["name"]), **row}


def _firm_rows(kind: str, rows: object) -> list[Table]:
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        raise UserError(f"fitback.toml: write each {kind} as a table under [[{kind}]].")
    return [_firm_row(kind, number, row) for number, row in enumerate(rows, start=1)]


def _firm_row(kind: str, number: int, row: Table) -> Table:
    where = f"fitback.toml, [[{kind}]] {row.get('name', row.get('says', f'number {number}'))}"
    for key, value in row.items():
        if key not in FIRM_KEYS[kind]:
            raise UserError(f"{where}: '{key}' is not a key of a {kind}{did_you_mean(key, list(FIRM_KEYS[kind]))}")
        _check_value(where, key, value)
    missing = [key for key in REQUIRED_KEYS[kind] if key not in row]
    if missing:
        raise UserError(f"{where}: '{missing[0]}' is missing; add it.")
    if kind == "limit" and not any(key in row for key in ("low", "high", "high_per_m")):
        raise UserError(f"{where}: give it a low, a high or a high_per_m.")
    if kind == "limit" and "high_per_m" in row and "along" not in row:
        raise UserError(f'{where}: say whether high_per_m is along = "width" or "height".')
    if "low" in row and "high" in row and row["low"] > row["high"]:
        raise UserError(f"{where}: low = {row['low']} is above high = {row['high']}; exchange or correct them.")
    return row


def _check_value(where: str, key: str, value: object) -> None:
    if key in NUMBERS:
        is_number = isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)
        if not is_number or (key == "per" and value <= 0):  # type: ignore[operator]
            raise UserError(f"{where}: {key} = {value!r} must be a number{' above zero' if key == 'per' else ''}.")
    elif key == "from":
        if not isinstance(value, date) or isinstance(value, datetime):
            raise UserError(f"{where}: from = {value!r} must be a date, such as 2026-01-31 without quotes.")
    elif not isinstance(value, str) or not value.strip():
        raise UserError(f"{where}: {key} = {value!r} must be a text.")
    elif key in CHOICES and value not in CHOICES[key]:
        raise UserError(f"{where}: {key} = '{value}' must be one of {', '.join(CHOICES[key])}.")


def _check_names(catalogue: Catalogue) -> None:
    groups: dict[str, list[str]] = {
        "measure": [row.name for row in catalogue.measures],
        "fault": [row.name for row in catalogue.faults],
        "deviation or check": [row.name for row in catalogue.deviations],
    }
    for kind, names in groups.items():
        # records may write a name with other case, blanks or hyphens, so these do not make another name
        known: set[str] = set()
        for name in names:
            if kind == "fault" and ";" in name:
                raise UserError(f"fitback.toml: the {kind} '{name}' holds a ; which parts faults; choose another name.")
            if _as_written(name) in known:
                raise UserError(f"fitback.toml: the {kind} '{name}' is already in the catalogue; choose another name.")
            known.add(_as_written(name))
    _check_limit_names(catalogue)


def _as_written(name: str) -> str:
    return "_".join(name.casefold().replace("_", " ").replace("-", " ").split())


def _check_limit_names(catalogue: Catalogue) -> None:
    """A limit may have several rows, one for each product, material and first day; all limit one deviation."""
    deviations: dict[str, str] = {}
    seen: set[tuple[object, ...]] = set()
    for row in catalogue.limits:
        where = f"fitback.toml, [[limit]] {row.name}"
        other = deviations.setdefault(row.name, row.deviation)
        if other != row.deviation:
            raise UserError(f"{where}: this is already the name of a limit on {other}; choose another name.")
        product, material = (text and text.strip().casefold() for text in (row.product, row.material))
        place = (row.name, row.status, row.is_own, product, material, row.starts_on)
        if place in seen:
            raise UserError(f"{where}: it stands twice for the same product, material and first day; keep one.")
        seen.add(place)


def _check_note_words(catalogue: Catalogue) -> None:
    faults = [row.name for row in catalogue.faults]
    for word in catalogue.note_words:
        where = f"fitback.toml, [[note_word]] {word.says}"
        if not any(sign.isalpha() for sign in word.says):
            raise UserError(f"{where}: says must hold a letter.")
        if (word.means is None) == (word.fault is None):
            raise UserError(f"{where}: say either what it means or which fault it is a sign of.")
        if word.fault is not None and word.fault not in faults:
            raise UserError(f"{where}: fault '{word.fault}' is not known{did_you_mean(word.fault, faults)}")


def _check_references(catalogue: Catalogue, own: dict[str, list[Table]]) -> None:
    known = {
        "step": list(catalogue.steps),
        "measure": [row.name for row in catalogue.measures],
        "deviation": [row.name for row in catalogue.deviations],
        "family": [row.family for row in catalogue.deviations if row.role == "cause"],
    }
    for kind in ("measure", "check", "fault", "deviation", "limit"):
        for row in own[kind]:
            for key, names in known.items():
                # a family named by nobody else is the row's own
                is_own_family = key == "family" and row["name"] == row.get(key)
                if key in row and row[key] not in names and not is_own_family:
                    where = f"fitback.toml, [[{kind}]] {row['name']}"
                    raise UserError(f"{where}: {key} '{row[key]}' is not known{did_you_mean(row[key], names)}")

"""How a firm writes: the order of its dates, its decimal mark, what its words mean and what its sides and signs say.

Comes from the firm's fitback.toml, beside the built-in spellings. Never touches records.
"""

import tomllib
from dataclasses import dataclass
from importlib.resources import files
from typing import Any

from pipeline.errors import UserError, did_you_mean

Table = dict[str, Any]

CUSTOM_KEYS = ("dates", "decimals", "sign", "spelling")
_CHOICES = {"dates": ("day first", "month first"), "decimals": ("point", "comma")}
_MARKS = {"point": ".", "comma": ","}
_KEYS = {"sign": ("text", "sign", "measure", "read_by"), "spelling": ("text", "means")}
_REQUIRED = {"sign": ("sign",), "spelling": ("text", "means")}
_SIGNS = {"+": 1.0, "-": -1.0}


@dataclass(frozen=True)
class Sign:
    """What a word beside a number says of its sign; without text, what the plain numbers of one person say.

    factor: 1 or -1. measure, read_by: where it holds; None: everywhere.
    """

    factor: float
    text: str | None = None
    measure: str | None = None
    read_by: str | None = None


@dataclass(frozen=True)
class Customs:
    """dates: `day first` or `month first`; decimals: `.` or `,`; None where the firm says nothing.

    words  (text, the word of the catalogue that it means)
    """

    dates: str | None = None
    decimals: str | None = None
    signs: tuple[Sign, ...] = ()
    words: tuple[tuple[str, str], ...] = ()


def load_customs(firm: Table, known: dict[str, list[str]]) -> Customs:
    """The built-in spellings with the firm's own customs.

    known  the measures (under `measure`) and all words of closed lists (under `word`) of the catalogue
    Raises UserError, one sentence that names the place, for what is not known or of the wrong kind.
    """
    signs, words = _rows(firm, "sign"), _rows(firm, "spelling")
    for row in words:
        _check_known("spelling", row["text"], row["means"], known["word"])
    for row in signs:
        _check_sign(row, known["measure"])
    return Customs(
        dates=_choice(firm, "dates"),
        decimals=_MARKS.get(_choice(firm, "decimals") or ""),
        signs=tuple(
            Sign(_SIGNS[row["sign"]], row.get("text"), row.get("measure"), row.get("read_by")) for row in signs
        ),
        words=(*_built_in(), *((row["text"], row["means"]) for row in words)),
    )


def _built_in() -> tuple[tuple[str, str], ...]:
    table = tomllib.loads(files("pipeline.catalogue").joinpath("spellings.toml").read_text(encoding="utf-8"))
    return tuple((text, word) for word, texts in table.items() for text in texts)


def _choice(firm: Table, key: str) -> str | None:
    value = firm.get(key)
    if value is not None and value not in _CHOICES[key]:
        choices = " or ".join(f'"{choice}"' for choice in _CHOICES[key])
        raise UserError(f"fitback.toml: {key} = {value!r} must be {choices}.")
    return value


def _rows(firm: Table, kind: str) -> list[Table]:
    rows = firm.get(kind, [])
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        raise UserError(f"fitback.toml: write each {kind} as a table under [[{kind}]].")
    for number, row in enumerate(rows, start=1):
        where = f"fitback.toml, [[{kind}]] {row.get('text', f'number {number}')}"
        for key, value in row.items():
            if key not in _KEYS[kind]:
                raise UserError(f"{where}: '{key}' is not a key of a {kind}{did_you_mean(key, list(_KEYS[kind]))}")
            if not isinstance(value, str) or not value.strip():
                raise UserError(f"{where}: {key} = {value!r} must be a text.")
        missing = [key for key in _REQUIRED[kind] if key not in row]
        if missing:
            raise UserError(f"{where}: '{missing[0]}' is missing; add it.")
    return rows


def _check_sign(row: Table, measures: list[str]) -> None:
    if row["sign"] not in _SIGNS:
        raise UserError(f"fitback.toml, [[sign]]: sign = {row['sign']!r} must be + or -, in quotes.")
    if "text" not in row and "read_by" not in row:
        raise UserError("fitback.toml, [[sign]]: give it a text such as L, or read_by, whose plain numbers it turns.")
    if "measure" in row:
        _check_known("sign", str(row.get("text", row["sign"])), row["measure"], measures)


def _check_known(kind: str, text: str, name: str, known: list[str]) -> None:
    if name not in known:
        near = did_you_mean(name, known) or "; README lists the words."
        raise UserError(f"fitback.toml, [[{kind}]] {text}: '{name}' is not known{near}")

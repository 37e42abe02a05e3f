"""Crews as codes: who reads results through this sees a code wherever a crew's name stands, in every table and text.

The results themselves keep the names; views of the same names as the tables lie over them on one connection, so that no
reader can forget it. The key, who is who, is one file in the output folder, in which codes once given stay.
"""

import csv
import re
from collections.abc import Mapping
from functools import lru_cache
from hashlib import sha256
from html import unescape
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pipeline.books import guarded, unguarded
from pipeline.building.table_making import quoted
from pipeline.errors import UserError
from pipeline.rewriting import patiently
from pipeline.warehouse import open_results

if TYPE_CHECKING:
    import duckdb

KEY_FILE = "crew_codes.csv"
# What stands in a crew's place without being one.
NO_CREWS = ("all", "other crews")
# Columns of texts: those that a firm's files fill, and those in which sentences of our own stand.
LOOSE = ("file", "sheet", "part", "value", "before", "after", "who", "heading", "example")
STRICT = ("reason", "meaning", "what", "how_much", "act", "note", "verdict")
# Cells that hold a crew, perhaps written wrongly, and a reader of readings.
CELLS = "('crew', 'read_by')"
NOT_TOLD = "'this crew or person is not known as it is written'"
SHORT = 2  # signs: of such a name the case counts

Codes = Mapping[str, str]


def crew_codes(results: Path, key: Path) -> dict[str, str]:
    """The code of every crew in the results, by name; those of the key stay. Writes the key where one is new.

    Raises UserError where the key cannot be read, or gives one code twice.
    """
    with open_results(results) as connection:
        crews = crews_of(connection)
    kept = read_key(key)
    codes = with_new(crews, kept)
    if codes != kept:
        _write_key(key, codes)
    return codes


def published_codes(connection: "duckdb.DuckDBPyConnection", folder: Path) -> dict[str, str]:
    """The codes of an output folder whose results ask for them; none where they show names."""
    if not _asks_for_codes(connection):
        return {}
    return with_new(crews_of(connection), read_key(folder / KEY_FILE))


def codes_shown(results: Path, folder: Path) -> dict[str, str]:
    """The same of results that lie elsewhere than the key of their output folder."""
    with open_results(results) as connection:
        return published_codes(connection, folder)


def with_new(crews: list[str], kept: Codes) -> dict[str, str]:
    """The kept codes, and the next numbers for crews that have none, in an order that says nothing of them.

    >>> sorted(with_new(["Ash", "Elm"], {"Ash": "C07"}).values())
    ['C07', 'C08']
    """
    codes = dict(kept)
    names = {name.casefold() for name in (*crews, *kept)}
    # a letter under which no code could be taken for the name of a crew
    letter = next(one for one in "CQXZCJ" if one == "J" or not any(re.fullmatch(rf"{one}\d+", n, re.I) for n in names))
    number = max((int(found[1]) for code in codes.values() if (found := re.fullmatch(r"\D*(\d+)", code))), default=0)
    new = sorted((crew for crew in crews if crew not in codes), key=lambda crew: sha256(crew.encode()).digest())
    codes.update({crew: f"{letter}{place:02}" for place, crew in enumerate(new, start=number + 1)})
    return codes


def read_key(path: Path) -> dict[str, str]:
    """Codes by crew; none where there is no key yet. Raises UserError where it is none."""
    if not path.is_file():
        return {}
    try:
        with path.open(encoding="utf-8-sig", newline="") as file:
            rows = [(unguarded(row[0]), row[1].strip()) for row in csv.reader(file) if len(row) > 1]
    except (OSError, UnicodeDecodeError, csv.Error):
        raise UserError(
            f"{path} cannot be read; save it as CSV in UTF-8, or remove it to have new codes made."
        ) from None
    heads = [name.casefold().strip() for name in rows[0]] if rows else []
    if heads != ["crew", "code"]:  # taken for none, every crew would get a new code
        raise UserError(
            f"{path} does not begin with the columns crew and code, separated by a comma; save it so, or remove it to "
            "have new codes made."
        )
    codes = {crew: code for crew, code in rows[1:] if crew and code}
    twice = next((code for code in codes.values() if list(codes.values()).count(code) > 1), None)
    if twice:
        raise UserError(f"{path} gives the code {twice} to two crews; give each a code of its own.")
    if kept := next((code for code in codes.values() if code.casefold() in NO_CREWS), None):
        raise UserError(f"{path} gives a crew the code {kept}, which stands for crews together; give it another.")
    return codes


def names_in_sheets(folder: Path, codes: Codes) -> int:
    """How many pages in a folder name a crew: sheets of doors stay as they were drawn, also from before the codes."""
    find = Coder(codes).sentence
    texts = (unescape(path.read_text(encoding="utf-8", errors="replace")) for path in folder.glob("*.html"))
    return sum(find(text) != text for text in texts)


def _write_key(path: Path, codes: Codes) -> None:
    draft = path.with_suffix(".draft")
    with draft.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(("crew", "code"))
        for crew, code in sorted(codes.items(), key=lambda pair: pair[1]):
            writer.writerow((guarded(crew), code))
    patiently(lambda: draft.replace(path), path)


def crews_of(connection: "duckdb.DuckDBPyConnection") -> list[str]:
    """Every crew that stands in any table of the results, sorted."""
    tables = [table for table, columns in _columns(connection).items() if "crew" in columns]
    found = {row[0] for table in tables for row in connection.execute(_CREWS.format(quoted(table))).fetchall()}
    return sorted(found - {None, *NO_CREWS})


_CREWS = "SELECT DISTINCT crew FROM results.main.{}"


def _asks_for_codes(connection: "duckdb.DuckDBPyConnection") -> bool:
    described = connection.execute("SELECT * FROM results.main.settings")
    settings = dict(zip((column[0] for column in described.description or []), described.fetchall()[0], strict=True))
    return bool(settings.get("crew_codes"))  # results of an older fitback have no such column


def _columns(connection: "duckdb.DuckDBPyConnection") -> dict[str, list[str]]:
    """Columns of text by table of the results."""
    found: dict[str, list[str]] = {}
    rows = connection.execute(
        "SELECT table_name, column_name FROM duckdb_columns()"
        " WHERE database_name = 'results' AND data_type = 'VARCHAR' ORDER BY table_name, column_index"
    ).fetchall()
    for table, column in rows:
        found.setdefault(table, []).append(column)
    return found


class Coder:
    """Puts codes for names in texts."""

    def __init__(self, codes: Codes) -> None:
        self._exact = dict(codes)
        self._codes = {_folded(_bare(name)): code for name, code in codes.items()}
        self._codes |= {_folded(name): code for name, code in codes.items()}
        self._full = _by_first_word(set(codes))
        self._loose = _by_first_word({*codes, *map(_bare, codes)})
        # what a text that names a crew holds at least: found by the database in one pass
        self.hint = f"(?i){'|'.join(sorted({re.escape(_words(_bare(name))[0]) for name in codes if _words(name)}))}"

    def sentence(self, text: str) -> str:
        """A sentence of our own, with codes for full names."""
        return self._coded(text, self._full)

    def loose(self, text: str) -> str:
        """What a firm wrote, with codes for names also without `crew`, and joined as file names are."""
        return self._coded(text, self._loose)

    def _coded(self, text: str, names: dict[str, list[str]]) -> str:
        near = {name for word in set(_folded(text).split()) for name in names.get(word, ())}
        return _pattern(tuple(sorted(near))).sub(self._code, text) if near else text

    def rows(self, rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
        """Rows read from elsewhere, with codes for their crews and for names in what a firm wrote."""
        return [{column: self._cell(column, value) for column, value in row.items()} for row in rows]

    def _cell(self, column: str, value: Any) -> Any:
        if not isinstance(value, str):
            return value
        if column == "crew":
            return self._exact.get(value, "not on record")
        if column == "read_by":  # a crew, or a person of one
            return self._codes.get(_folded(value), "not shown")
        return self.loose(value) if column in (*LOOSE, "raw") else value

    def _code(self, found: re.Match[str]) -> str:
        name = found[0]
        return self._codes.get(_folded(name)) or self._codes.get(_folded(_bare(name)), "a crew")


def _bare(name: str) -> str:
    return re.sub(r"^(crew|team|van)[\W_]+(?=.*[^\W_])", "", name, flags=re.IGNORECASE)


def _words(name: str) -> list[str]:
    return [word for word in re.split(r"[\W_]+", name) if word]


def _folded(name: str) -> str:
    return " ".join(_words(name)).casefold()


def _by_first_word(names: set[str]) -> dict[str, list[str]]:
    """Names by their first word after `crew`: of hundreds only those need a look whose word stands in a text."""
    found: dict[str, list[str]] = {}
    for name in names:
        if folded := _folded(_bare(name)):
            found.setdefault(folded.split()[0], []).append(name)
    return found


@lru_cache(maxsize=4096)
def _pattern(names: tuple[str, ...]) -> re.Pattern[str]:
    """Any of the names as a word, the longest first; of short ones the case counts, single signs never stand alone."""
    wanted = sorted(names, key=len, reverse=True)
    parts = [_as_written(name) for name in wanted if len(_folded(name)) > 1]
    parts += [rf"(?i:crew|team|van)[\W_]+{_as_written(name)}" for name in wanted if len(_folded(name)) == 1]
    return re.compile(rf"(?<![^\W_])(?:{'|'.join(parts)})(?![^\W_])")


def _as_written(name: str) -> str:
    words = r"[\W_]+".join(map(re.escape, _words(name)))
    return words if len(_folded(name)) <= SHORT else f"(?i:{words})"


def lay_over(connection: "duckdb.DuckDBPyConnection", codes: Codes) -> None:
    """Lays a view over every table that names a crew: from here on the connection shows codes."""
    _keep(connection, "crew_key", ("crew", "code"), codes)
    coder = Coder(codes)
    texts: dict[str, str] = {}
    tables = _columns(connection)
    for table, columns in tables.items():
        texts |= _coded_texts(connection, table, columns, coder)
    _keep(connection, "crew_texts", ("written", "coded"), texts)
    for table, columns in tables.items():
        if cells := _cells(table, columns):
            shown = ", ".join(f"{cell} AS {quoted(column)}" for column, cell in cells.items())
            view = f"SELECT t.* REPLACE ({shown}) FROM results.main.{quoted(table)} AS t"
            connection.execute(f"CREATE TEMP VIEW {quoted(table)} AS {view}")


def _keep(connection: "duckdb.DuckDBPyConnection", name: str, columns: tuple[str, str], pairs: Codes) -> None:
    """Keeps pairs as a table of the connection."""
    import polars as pl

    rows = pl.DataFrame(list(pairs.items()), schema=dict.fromkeys(columns, pl.String), orient="row")
    connection.register("kept_pairs", rows)
    connection.execute(f"CREATE TEMP TABLE {name} AS FROM kept_pairs")
    connection.unregister("kept_pairs")


def _coded_texts(
    connection: "duckdb.DuckDBPyConnection", table: str, columns: list[str], coder: Coder
) -> dict[str, str]:
    """Every text of the table that names a crew, with what is shown instead."""
    found = {}
    for column in columns:
        if column not in (*LOOSE, *STRICT):
            continue
        name = quoted(column)
        rows = connection.execute(
            f"SELECT DISTINCT {name} FROM results.main.{quoted(table)} WHERE regexp_matches({name}, $1)", [coder.hint]
        )
        coded = coder.loose if column in LOOSE else coder.sentence
        for (text,) in rows.fetchall():
            if (shown := coded(text)) != text:
                found[text] = shown
    return found


def _cells(table: str, columns: list[str]) -> dict[str, str]:
    """What a view shows in place of its columns, by column."""
    cells = {column: _text(column) for column in columns if column in (*LOOSE, *STRICT)}
    if "column" in columns:  # rows about a cell of the records: one that should hold a crew shows nothing
        blank = {name: NOT_TOLD if name == "reason" else "NULL" for name in ("value", "before", "after", "reason")}
        cells |= {
            name: f'CASE WHEN t."column" IN {CELLS} THEN {instead} ELSE {cells[name]} END'
            for name, instead in blank.items()
            if name in cells
        }
    if "crew" in columns:
        cells["crew"] = _code("crew")
    if table == "effect_by":
        cells["level"] = f"CASE WHEN t.\"by\" = 'crew' THEN {_code('level')} ELSE t.level END"
    if table == "explore_names":
        cells |= {name: f"CASE WHEN t.dimension = 'crew' THEN {_code(name)} ELSE t.{name} END" for name in columns[1:]}
    return cells


def _code(column: str) -> str:
    name = f"t.{quoted(column)}"
    return f"coalesce((SELECT k.code FROM temp.crew_key AS k WHERE k.crew = {name}), {name})"


def _text(column: str) -> str:
    name = f"t.{quoted(column)}"
    return f"coalesce((SELECT x.coded FROM temp.crew_texts AS x WHERE x.written = {name}), {name})"

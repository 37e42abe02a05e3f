"""Reads what a column of a [[sheet]] table looks up in another sheet, and says which files a mapping looks into."""

from collections.abc import Iterable
from fnmatch import fnmatch
from pathlib import Path

from pipeline.ingest.declared.mapping import LOCK_MARK, MAPPED_FORMS, LookUp, SheetMap, folded
from pipeline.ingest.declared.toml_values import as_text, as_texts, wrong

KEYS = ("look_up", "in", "sheet", "by", "header_rows")
LOOKED_UP = ", looked up in "
# Files of an open workbook's mark, and hidden ones.
_NO_TABLES = (LOCK_MARK, ".")
_HOW = 'write { look_up = "Team", in = "jobs.csv", by = "Job no" }'


def look_up_of(where: str, value: dict[str, object]) -> LookUp | None:
    """What a table that says where a column comes from looks up; None where it looks up nothing.

    Raises UserError where it does not say by which heading, or in which sheet.
    """
    if "look_up" not in value:
        if strange := next((key for key in KEYS if key in value), None):
            raise wrong(where, f"{strange} goes with look_up: {_HOW}.")
        return None
    by = as_texts(where, "by", value["by"]) if isinstance(value.get("by"), list) else (value.get("by"),)
    if not 1 <= len(by) <= 2 or not all(isinstance(one, str) and one.strip() for one in by):
        raise wrong(where, f"look_up needs by, the heading that both sheets have, or [here, there]; {_HOW}.")
    if "in" not in value and "sheet" not in value:
        raise wrong(where, f"look_up needs in, the other file, or sheet, the other sheet of this file; {_HOW}.")
    header_rows = value.get("header_rows", 1)
    if header_rows not in (1, 2, 3) or not isinstance(header_rows, int) or isinstance(header_rows, bool):
        raise wrong(where, f"header_rows = {header_rows} must be 1, 2 or 3.")
    here, there = folded(str(by[0])), folded(str(by[-1]))
    column = folded(as_text(where, "look_up", value["look_up"]))
    file = as_text(where, "in", value.get("in", ""))
    return LookUp(column, here, there, file, as_text(where, "sheet", value.get("sheet", "*")), header_rows)


def looks_into(mapping: Iterable[SheetMap], file_name: str) -> bool:
    """Whether something is looked up in a file of that name, from other files."""
    return any(is_in(look_up, file_name) for one in mapping for look_up in one.look_ups)


def is_in(look_up: LookUp, file_name: str) -> bool:
    """Whether a file of that name, beside the one that looks something up, is one that it is looked up in."""
    name = file_name.casefold()
    if name.startswith(_NO_TABLES) or not look_up.file:
        return False
    return name.endswith(MAPPED_FORMS) and fnmatch(name, look_up.file.casefold().strip())


def where_it_is(look_up: LookUp) -> str:
    """What something is looked up in, as it is told: jobs.csv, sheet Jobs of jobs.xlsx."""
    sheet = f"sheet {look_up.sheet}" if look_up.sheet != "*" else ""
    return " of ".join(filter(None, [sheet, look_up.file])) or "its own file"


def told_heading(look_up: LookUp) -> str:
    """The heading of a column that is looked up, as it is told where a heading of the sheet itself would be."""
    return f"{look_up.column}{LOOKED_UP}{where_it_is(look_up)}"


def files_of(look_up: LookUp, folder: Path) -> list[Path]:
    """The files of a folder that something is looked up in, by name."""
    return sorted(path for path in folder.iterdir() if is_in(look_up, path.name) and path.is_file())


def looked_into(mapping: tuple[SheetMap, ...], folder: Path) -> list[Path]:
    """The files of a folder that a mapping looks into, by name."""
    return sorted({path for one in mapping for look_up in one.look_ups for path in files_of(look_up, folder)})

"""The command `fitback sheets`: makes the blank sheets of one size of door and says what to do with them."""

import re
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from pipeline.catalogue import Catalogue, load_catalogue
from pipeline.errors import UserError
from pipeline.settings import load_settings
from pipeline.sheets.door import Door
from pipeline.sheets.page import render_page
from pipeline.sheets.plan import steps_of
from pipeline.sheets.workbooks import write_checks, write_readings

_NO_FILE_NAME = re.compile(r'[<>:"/\\|?*\x00-\x1f]')


@dataclass(frozen=True)
class Blank:
    """What was written: the page to print, the two workbooks, how many readings and checks they ask for."""

    page: Path
    readings: Path
    checks: Path
    n_readings: int
    n_checks: int
    is_named: bool

    @property
    def sentences(self) -> list[str]:
        """Lines for a person."""
        name = "" if self.is_named else "Name each filled workbook after its door, such as readings D-0001.xlsx: "
        put = (
            f"{name}put {'both' if self.is_named else 'it'} into the folder of records; lines left empty are not read."
        )
        return [
            f"To print:  {self.page} (choose A4)",
            f"To fill:   {self.readings} ({self.n_readings} readings), {self.checks} ({self.n_checks} checks)",
            put[0].upper() + put[1:],
        ]

    def as_json(self) -> dict[str, Any]:
        """The same for a program."""
        files = {"page": str(self.page), "readings": str(self.readings), "checks": str(self.checks)}
        return {**files, "n_readings": self.n_readings, "n_checks": self.n_checks}


def write_sheets(door: Door, out: Path, install_id: str, folder: Path | None) -> Blank:
    """Writes the sheets into `out`. install_id: filled in and used as the name, where it is known.

    folder  whose fitback.toml gives the firm's own limits, measures and checks; None: the built-in ones
    Raises UserError where a sheet cannot be written, or stands there already: it may be filled in.
    """
    firm, catalogue = _of_firm(folder)
    today = date.today()
    steps = steps_of(door, catalogue, today)
    name = _NO_FILE_NAME.sub("-", install_id) or f"blank {door.width}x{door.height}-{door.leaves}"
    page, readings, checks = _places(out, name)
    try:
        page.write_text(render_page(door, steps, (firm, install_id), today), encoding="utf-8")
        n_readings = write_readings(readings, steps, install_id)
        n_checks = write_checks(checks, steps, catalogue, install_id)
    except PermissionError as error:
        raise UserError(f"{error.filename} cannot be written: {error.strerror}; choose another --out.") from None
    return Blank(page, readings, checks, n_readings, n_checks, bool(install_id))


def _of_firm(folder: Path | None) -> tuple[str, Catalogue]:
    if folder is None:
        return "", load_catalogue()
    if not folder.is_dir():
        raise UserError(f"{folder} is no folder of records; give the one with fitback.toml, or leave --for out.")
    settings, catalogue = load_settings(folder)
    return settings.firm or "", catalogue


def _places(out: Path, name: str) -> tuple[Path, Path, Path]:
    places = (out / f"sheet {name}.html", out / f"readings {name}.xlsx", out / f"checks {name}.xlsx")
    standing = next((place for place in places if place.exists()), None)
    if standing is not None:
        raise UserError(f"{standing} is there already and may be filled in: move it, or choose another --out.")
    try:
        out.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise UserError(f"{out} cannot be made: {error.strerror}; choose another --out.") from None
    return places

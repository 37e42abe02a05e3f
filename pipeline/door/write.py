"""The command `fitback door`: the trail of one door for the terminal, its sheet and drawing beside the results."""

import re
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import Any

from pipeline.door.paper import drawing_png, drawing_svg
from pipeline.door.sheet import render, sheet_of
from pipeline.door.terminal import lines_of
from pipeline.door.trail import DoorTrail, door_trail
from pipeline.folders import DOORS, chosen_output

LONGEST = 60  # signs of a door's number in a file name
PLAIN_NAME = re.compile(rf"[A-Z0-9][A-Z0-9_-]{{0,{LONGEST - 1}}}")
# Names that one system or another keeps for itself.
RESERVED = re.compile(r"CON|PRN|AUX|NUL|COM\d|LPT\d")


@dataclass(frozen=True)
class Told:
    """One door's trail, its lines for a person, and where its files lie: page, svg, png; none where none was made."""

    trail: DoorTrail
    sentences: list[str]
    files: dict[str, Path] | None

    def as_json(self) -> dict[str, Any]:
        """The same for a program."""
        files = None if self.files is None else {name: str(path) for name, path in self.files.items()}
        return {**self.trail.as_json(), "files": files}


def tell_door(install_id: str, out: Path | None) -> Told:
    """The door in the results of `out` (else the only `*-fitback` folder here), its sheet written into `doors/` there.

    Raises UserError where there are no results or no such door; then with the nearest known ones.
    """
    folder = chosen_output(out)
    trail = door_trail(install_id, folder)
    lines, sheet = lines_of(trail), sheet_of(trail)
    svg = drawing_svg(sheet)
    files = files_of(folder / DOORS, install_id)
    try:
        files["page"].parent.mkdir(exist_ok=True)
        files["page"].write_text(render(sheet), encoding="utf-8")
        files["svg"].write_text(svg, encoding="utf-8")
        files["png"].write_bytes(drawing_png(svg))
    except OSError as error:
        why = f"{folder / DOORS} cannot be written ({error.strerror}); copy the results elsewhere"
        return Told(trail, [*lines, f"No sheet was made: {why}."], None)
    where = (f"Sheet:   {files['page']}", f"Drawing: {files['svg']}, {files['png']}")
    return Told(trail, [*lines, *where], files)


def files_of(folder: Path, install_id: str) -> dict[str, Path]:
    """Where the files of a door lie: page, svg, png."""
    name = file_name(install_id)
    return {kind: folder / f"{name}.{ending}" for kind, ending in (("page", "html"), ("svg", "svg"), ("png", "png"))}


def file_name(install_id: str) -> str:
    """A name that any system takes and no other door has, however its number is written.

    A number of capitals and digits is its own name; any other keeps what is plain of it and is told apart by a digest,
    since systems differ in what they take for one name.
    """
    if PLAIN_NAME.fullmatch(install_id) and not RESERVED.fullmatch(install_id):
        return install_id
    kept = re.sub(r"[^A-Za-z0-9_-]+", "-", install_id)[:LONGEST].strip("-")
    digest = sha256(install_id.encode("utf-8", "surrogatepass")).hexdigest()[:8]
    return f"{kept}-{digest}" if kept else digest

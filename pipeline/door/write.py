"""The command `fitback door`: the trail of one door for the terminal, its sheet and drawing beside the results."""

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pipeline.door.paper import drawing_png, drawing_svg
from pipeline.door.people import People, lines_of_people, people_of
from pipeline.door.sheet import render, sheet_of
from pipeline.door.terminal import lines_of
from pipeline.door.trail import DoorTrail, door_trail
from pipeline.folders import DOORS, DOORS_WITH_PEOPLE, chosen_output, door_files
from pipeline.terminal import from_here


@dataclass(frozen=True)
class Told:
    """One door's trail, its lines for a person, and where its files lie: page, svg, png; none where none was made."""

    trail: DoorTrail
    people: People | None
    sentences: list[str]
    files: dict[str, Path] | None

    def as_json(self) -> dict[str, Any]:
        """The same for a program."""
        files = None if self.files is None else {name: str(path) for name, path in self.files.items()}
        people = {"people": self.people.as_json()} if self.people else {}
        return {**self.trail.as_json(), **people, "files": files}


def tell_door(install_id: str, out: Path | None, with_people: bool = False) -> Told:
    """The door in the results of `out` (else the only `*-fitback` folder here), its sheet written into `doors/` there.

    with_people  its customer and notes too: then into `doors_with_people/`, so that a sheet in `doors/` names nobody
    Raises UserError where there are no results or no such door; then with the nearest known ones.
    """
    folder = chosen_output(out)
    trail = door_trail(install_id, folder)
    people = people_of(install_id, folder) if with_people else None
    lines = [*lines_of(trail), *(lines_of_people(trail, people) if people else [])]
    sheet, place = sheet_of(trail, people), folder / (DOORS_WITH_PEOPLE if people else DOORS)
    svg, files = drawing_svg(sheet), door_files(place, install_id)
    try:
        files["page"].parent.mkdir(exist_ok=True)
        files["page"].write_text(render(sheet), encoding="utf-8")
        files["svg"].write_text(svg, encoding="utf-8")
        files["png"].write_bytes(drawing_png(svg))
    except OSError as error:
        why = f"{place} cannot be written ({error.strerror}); copy the results elsewhere"
        return Told(trail, people, [*lines, f"No sheet was made: {why}."], None)
    page, svg_file, png_file = (from_here(files[kind]) for kind in ("page", "svg", "png"))
    where = (f"Sheet:   {page}", f"Drawing: {svg_file}, {png_file}")
    return Told(trail, people, [*lines, *where], files)

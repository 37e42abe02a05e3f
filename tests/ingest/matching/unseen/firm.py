"""A small invented firm in canonical values, from which every unseen form is written.

All names, places and numbers are invented. Lengths are mm; days are ISO text. A writer puts
down only some of it and tells which, so that what is taken in can be held to what was meant.
"""

import csv
import random
from dataclasses import dataclass, field
from datetime import date, timedelta
from pathlib import Path

from openpyxl import Workbook

TOWNS = ["Nether Wold", "Saltby", "Upper Harrow End", "Fenmoor", "Castle Dene"]
SURNAMES = ["Ashgrove", "Brindle", "Copperwheat", "Dunmore", "Eastlake", "Fairholm", "Gorse", "Hallam"]
FIRST_NAMES = ["Mara", "Theo", "Ines", "Colm", "Petra", "Ravi", "Nell", "Otto"]
NOTES = [
    "leaf 2 dropping, have to lift it to lock",
    "water coming in over the threshold after rain",
    "very stiff to slide since the hot spell",
    "draught at the meeting stile",
    "key stiff, have to push the door to turn it",
    "handle loose",
    "misted glass in the left leaf",
    "nothing wrong, showed how to lift the handle",
]


@dataclass
class Meant:
    """What a written form says: its records, and the headings that carry something of them."""

    installs: list[dict] = field(default_factory=list)
    readings: list[tuple] = field(default_factory=list)  # install, measure, member, place, value
    checks: list[tuple] = field(default_factory=list)  # install, check, member, outcome
    callbacks: list[dict] = field(default_factory=list)  # known by reported_on
    crews: list[dict] = field(default_factory=list)
    training: list[dict] = field(default_factory=list)
    headings: list[tuple[str, str]] = field(default_factory=list)  # file, heading or part of one

    def says(self, path: Path, *headings: str) -> None:
        """Note headings that carry something and should be mapped without help."""
        self.headings += [(path.name, heading) for heading in headings]


def day(rng: random.Random, first: date = date(2025, 1, 6), span: int = 300) -> date:
    """A working day that the writer may write as it likes."""
    chosen = first + timedelta(days=rng.randrange(span))
    return chosen if chosen.weekday() < 5 else chosen + timedelta(days=2)


def doors(seed: int, count: int, prefix: str = "D") -> list[dict]:
    """Doors with all that a sheet might say of them; sizes in whole mm."""
    rng = random.Random(seed)
    made = []
    for number in range(count):
        leaves = rng.choice([2, 3, 4, 5])
        fitted = day(rng)
        made.append(
            {
                "install_id": f"{prefix}{1400 + 3 * number}",
                "job_no": f"{20400 + 7 * number}",
                "crew": rng.choice(["Team North", "Team Quay", "Team Mill"]),
                "product": rng.choice(["slim fold", "classic fold"]),
                "material": rng.choice(["aluminium", "timber", "pvc-u"]),
                "colour": rng.choice(["light", "dark"]),
                "leaves": leaves,
                "width_mm": float(leaves * rng.randrange(780, 960, 5) + 100),
                "height_mm": float(rng.randrange(2030, 2380, 5)),
                "storey": rng.choice(["0", "1"]),
                "work": rng.choice(["new", "replacement"]),
                "surveyed_on": fitted - timedelta(days=40),
                "fitted_on": fitted,
                "handed_over_on": fitted + timedelta(days=rng.randrange(1, 6)),
                "customer": f"{FIRST_NAMES[number % 8]} {SURNAMES[(3 * number) % 8]}",
                "address": f"{3 + 2 * number} {rng.choice(['Mill', 'Long', 'Quay'])} Lane",
                "town": rng.choice(TOWNS),
                "postcode": f"ZZ{1 + number % 9} {rng.randrange(1, 9)}QX",
            }
        )
    return made


def gap(rng: random.Random, about: float = 5.0, spread: float = 1.5) -> float:
    """A reading to half a mm, near `about`."""
    return round(2 * rng.uniform(about - spread, about + spread)) / 2


def visits(seed: int, fitted: list[dict], count: int) -> list[dict]:
    """Callbacks on different days, each naming the job."""
    rng = random.Random(seed)
    made = []
    for number in range(count):
        door = rng.choice(fitted)
        reported = date(2025, 11, 3) + timedelta(days=2 * number)
        made.append(
            {
                "job_no": door["job_no"],
                "install_id": door["install_id"],
                "customer": door["customer"],
                "postcode": door["postcode"],
                "reported_on": reported,
                "visited_on": reported + timedelta(days=rng.randrange(1, 12)),
                "note": NOTES[number % len(NOTES)],
                "responsibility": rng.choice(["installation", "product", "wear"]),
                "hours": rng.choice([0.5, 1.0, 1.5, 2.0]),
                "cost": float(rng.randrange(0, 180, 5)),
            }
        )
    return made


def some(row: dict, names: str) -> dict:
    """The named ones of a row's facts."""
    return {name: row[name] for name in names.split()}


def read(known: str, measure: str, member: str | None, places: list, values: list) -> list[tuple]:
    """Readings of one measure at several places."""
    return [(known, measure, member, place, value) for place, value in zip(places, values, strict=True)]


def ends(known: str, leaf: int, values: list) -> list[tuple]:
    """Head gap at hinge and lock, threshold gap at hinge and lock of a leaf."""
    member = f"leaf_{leaf}"
    head = read(known, "head_gap", member, ["hinge", "lock"], values[:2])
    return head + read(known, "threshold_gap", member, ["hinge", "lock"], values[2:4])


def write_csv(path: Path, rows: list[list], separator: str = ",") -> None:
    """A CSV file in UTF-8."""
    with path.open("w", newline="", encoding="utf-8") as file:
        csv.writer(file, delimiter=separator).writerows(rows)


def write_book(path: Path, sheets: dict[str, list[list]], merges: dict[str, list[str]] | None = None) -> None:
    """A workbook of sheets by name, row by row, with the areas that are merged."""
    book = Workbook()
    book.remove(book.active)
    for name, rows in sheets.items():
        sheet = book.create_sheet(name)
        for row in rows:
            sheet.append(row)
        for area in (merges or {}).get(name, []):
            sheet.merge_cells(area)
    book.save(path)

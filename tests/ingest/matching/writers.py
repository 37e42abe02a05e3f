"""Writes an invented firm as each kind of messy sheet that firms keep, every heading spelt one of several ways."""

from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path
from typing import Any

import openpyxl

SPELT = {
    "door": ["Door ref", "Door no.", "Doorset", "Set no"],
    "crew": ["Team", "Fitter", "Crew", "Installer"],
    "fitted": ["Date fitted", "Installed", "Fit date", "Install date"],
    "width": ["Width (mm)", "Overall width mm", "W (mm)", "Door width [mm]"],
    "height": ["Height (mm)", "Ht (mm)", "H (mm)"],
    "leaves": ["No. of leaves", "Leaves", "Leaf count"],
    "sill": ["Sill", "Cill level", "Sill lvl", "cill"],
    "left": ["L", "left", "LH"],
    "centre": ["C", "centre", "mid"],
    "right": ["R", "right", "RH"],
    "head_gap": ["head gap", "top gap", "Hd gap"],
    "threshold_gap": ["bottom gap", "threshold gap", "btm gap"],
    "hinge": ["hinge", "H", "hinge side"],
    "lock": ["lock", "L", "lock side"],
    "leaf": ["Leaf", "Panel", "Sash"],
    "diagonal": ["Diagonal", "Frame diag"],
    "rising": ["BL-TR", "rising", "A-C"],
    "falling": ["TL-BR", "falling", "B-D"],
    "toe": ["T&H", "Toe & heel", "toe and heel"],
    "track": ["Track clean", "Track cleaned?"],
    "dams": ["End dams", "End dams sealed"],
}
SHARES = {"left": 0.0, "centre": 0.5, "right": 1.0}


@dataclass(frozen=True)
class Door:
    """One invented door. readings: (measure, member, station) to value; checks: (check, member) to outcome."""

    install_id: str
    crew: str
    fitted_on: date
    width_mm: int
    height_mm: int
    leaves: int
    readings: dict[tuple[str, str, str], float] = field(default_factory=dict)
    checks: dict[tuple[str, str], str] = field(default_factory=dict)

    @property
    def reading_rows(self) -> set[tuple[Any, ...]]:
        """The rows of `readings`: door, measure, member, station, position, value."""
        return {
            (self.install_id, measure, member or None, station or None, self._position(measure, station), value)
            for (measure, member, station), value in self.readings.items()
        }

    @property
    def check_rows(self) -> set[tuple[Any, ...]]:
        return {(self.install_id, check, member or None, outcome) for (check, member), outcome in self.checks.items()}

    def _position(self, measure: str, station: str) -> float | None:
        return SHARES[station] * self.width_mm if measure == "sill_height" else None


class Spelling:
    """Says headings, each word in the way that was drawn for it."""

    def __init__(self, ways: dict[str, str]) -> None:
        self.ways = ways

    def __call__(self, *words: str) -> str:
        return " ".join(self.ways.get(word, word) for word in words)


FACTS = ("door", "crew", "fitted", "width", "height", "leaves")


def facts_of(door: Door) -> list[Any]:
    fitted = datetime(door.fitted_on.year, door.fitted_on.month, door.fitted_on.day)
    return [door.install_id, door.crew, fitted, door.width_mm, door.height_mm, door.leaves]


def reading_keys(doors: list[Door]) -> list[tuple[str, str, str]]:
    return list(dict.fromkeys(key for door in doors for key in door.readings))


def check_keys(doors: list[Door]) -> list[tuple[str, str]]:
    return list(dict.fromkeys(key for door in doors for key in door.checks))


def named(say: Spelling, measure: str, member: str, station: str) -> tuple[str, str]:
    """(what stands over several columns, what stands over one) for a reading."""
    if measure == "sill_height":
        return say("sill"), say(station)
    if measure == "frame_diagonal":
        return say("diagonal"), say(station)
    return say("leaf", member.removeprefix("leaf_")), say(measure, station)


def check_named(say: Spelling, check: str, member: str) -> str:
    word = {"toe_and_heel": "toe", "track_clean": "track", "end_dams_sealed": "dams"}[check]
    return say(word, "leaf", member.removeprefix("leaf_")) if member else say(word)


def write_wide(folder: Path, doors: list[Door], say: Spelling) -> None:
    """A column for every reading, under a title, with a totals row in the middle and one at the end."""
    keys, ticks = reading_keys(doors), check_keys(doors)
    heads = [say(word) for word in FACTS] + [" ".join(named(say, *key)) for key in keys]
    rows = [_wide_row(door, keys, ticks) for door in doors]
    total = ["Total", None, None, sum(door.width_mm for door in doors)]
    body = [*rows[:1], total, *rows[1:], total]
    _save(folder / "site sheets 2025.xlsx", {"Doors": [["Invented Doors"], [], heads + _tick_heads(say, ticks), *body]})


def write_merged(folder: Path, doors: list[Door], say: Spelling) -> None:
    """Two rows of headings, the upper merged over what they have in common; a sheet for every crew."""
    keys, ticks = reading_keys(doors), check_keys(doors)
    pairs = [named(say, *key) for key in keys]
    upper = [say(word) for word in FACTS] + [over for over, _ in pairs] + _tick_heads(say, ticks)
    lower = [None] * len(FACTS) + [under for _, under in pairs] + [None] * len(ticks)
    sheets = {}
    for crew in dict.fromkeys(door.crew for door in doors):
        rows = [_wide_row(door, keys, ticks) for door in doors if door.crew == crew]
        sheets[f"{crew}s"] = [[f"Crew sheet, {crew}"], upper, lower, *rows]
    _save(folder / "crew sheets 1.xlsx", sheets, merged_row=2)


def write_leaf_rows(folder: Path, doors: list[Door], say: Spelling) -> None:
    """A row for every leaf; the door's facts in its first row only."""
    measures = list(dict.fromkeys((key[0], key[2]) for key in reading_keys(doors) if key[1]))
    heads = [say(word) for word in FACTS] + ["Leaf no"] + [say(measure, station) for measure, station in measures]
    heads += [say("toe")]
    rows = []
    for door in doors:
        for leaf in range(1, door.leaves + 1):
            facts = facts_of(door) if leaf == 1 else [None] * len(FACTS)
            values = [door.readings.get((measure, f"leaf_{leaf}", station)) for measure, station in measures]
            rows.append([*facts, leaf, *values, door.checks.get(("toe_and_heel", f"leaf_{leaf}"))])
    _save(folder / "leaf sheets May.xlsx", {"Sheet1": [heads, *rows]})


def write_tall(folder: Path, doors: list[Door], say: Spelling) -> None:
    """CSV with a row for every reading and check, named in words; blank means as above."""
    lines = [";".join([*(say(word) for word in FACTS), "What", "Result"])]
    for door in doors:
        facts = [str(cell) for cell in facts_of(door)]
        facts[2] = door.fitted_on.isoformat()
        items = [(" ".join(named(say, *key)), f"{value:g}") for key, value in door.readings.items()]
        items += [(check_named(say, *key), outcome) for key, outcome in door.checks.items()]
        for number, item in enumerate(items):
            lines.append(";".join([*(facts if number == 0 else [""] * len(facts)), *item]))
    (folder / "inspection 2025-05.csv").write_text("\n".join(lines), encoding="utf-8")


def write_forms(folder: Path, doors: list[Door], say: Spelling) -> None:
    """One door a sheet: labels and values side by side, gaps and sill in small tables."""
    _save(folder / "door forms.xlsx", {door.install_id: _form(door, say) for door in doors})


def _form(door: Door, say: Spelling) -> list[list[Any]]:
    facts = list(zip([say(word) for word in FACTS], facts_of(door), strict=True))
    rows: list[list[Any]] = [["Fitting record, invented"], []]
    rows += [[*facts[at], None, *facts[at + 1]] for at in range(0, len(facts), 2)]
    rows += [[], [say("sill"), *(say(station) for station in SHARES)]]
    rows += [[None, *(door.readings.get(("sill_height", "sill", station)) for station in SHARES)], []]
    for measure in ("head_gap", "threshold_gap"):
        rows.append([say(measure) + "s", say("hinge"), say("lock")])
        for leaf in range(1, door.leaves + 1):
            values = [door.readings.get((measure, f"leaf_{leaf}", station)) for station in ("hinge", "lock")]
            rows.append([f"Leaf {leaf}", *values])
        rows.append([])
    for station in ("rising", "falling"):
        rows.append([say("diagonal", station), door.readings.get(("frame_diagonal", "", station))])
    rows += [[check_named(say, *key), outcome] for key, outcome in door.checks.items()]
    return rows


def _wide_row(door: Door, keys: list[tuple[str, str, str]], ticks: list[tuple[str, str]]) -> list[Any]:
    return facts_of(door) + [door.readings.get(key) for key in keys] + [door.checks.get(key) for key in ticks]


def _tick_heads(say: Spelling, ticks: list[tuple[str, str]]) -> list[str]:
    return [check_named(say, *key) for key in ticks]


def _save(path: Path, sheets: dict[str, list[list[Any]]], merged_row: int | None = None) -> None:
    workbook = openpyxl.Workbook()
    workbook.remove(workbook.active)
    for name, rows in sheets.items():
        sheet = workbook.create_sheet(name)
        for row in rows:
            sheet.append(row)
        if merged_row:
            _merge(sheet, merged_row)
    workbook.save(path)


def _merge(sheet: Any, row: int) -> None:
    """Merges equal neighbours of a header row."""
    texts = [cell.value for cell in sheet[row]]
    start = 0
    for end in range(1, len(texts) + 1):
        if end == len(texts) or texts[end] != texts[start]:
            if end - start > 1:
                sheet.merge_cells(start_row=row, end_row=row, start_column=start + 1, end_column=end)
            start = end


def write_stacked(folder: Path, doors: list[Door], say: Spelling) -> None:
    """Doors above readings, ticks beside these: three tables in one sheet; widths in mm and m, the unit beside them."""
    keys, ticks = reading_keys(doors), check_keys(doors)
    above = [["DOORS"], [], [*map(say, ("door", "crew", "fitted", "width")), "Unit", say("height"), say("leaves")]]
    below: list[list[Any]] = [[]]
    heads = [say("door"), say("width"), *[" ".join(named(say, *key)) for key in keys]]
    below.append([*heads, None, say("door"), *_tick_heads(say, ticks)])
    for number, door in enumerate(doors):
        known, crew, fitted, width, *rest = facts_of(door)
        size = [width / 1000, "m"] if number % 2 else [width, "mm"]
        above.append([known, crew, fitted, *size, *rest])
        below.append(
            [known, width, *[door.readings[key] for key in keys], None, known, *[door.checks[key] for key in ticks]]
        )
    _save(folder / "site book.xlsx", {"All": above + below})


def write_across(folder: Path, doors: list[Door], say: Spelling) -> None:
    """A column for every door, its facts and readings below one another, and a column of means at the end."""
    keys, ticks = reading_keys(doors), check_keys(doors)
    heads = [say(word) for word in FACTS] + [" ".join(named(say, *key)) for key in keys] + _tick_heads(say, ticks)
    columns = [_wide_row(door, keys, ticks) for door in doors]
    rows = [[head, *cells] for head, *cells in zip(heads, *columns, strict=True)]
    rows[0].append("Mean")
    rows[3].append(sum(door.width_mm for door in doors) / len(doors))
    _save(folder / "block.xlsx", {"Block": [["Readings of a block"], *rows]})

"""Firms that keep pages: a form a door, several tables in a sheet, a column a door; written before any mending.

Headings, order, blanks, totals and abbreviations are those of the trade and of common spreadsheet habit:
`common practice, no source`.
"""

import random
from pathlib import Path

from tests.ingest.matching.unseen.firm import Meant, doors, ends, gap, read, some, visits, write_book, write_csv

TICKS = {"Sill bedded full length": "sill_bedded", "Drainage clear": "drainage_clear", "Locks operate": "locks_operate"}
TICKS |= {"Track clean": "track_clean"}


def forms(folder: Path) -> Meant:
    """A handover form for each door, one a sheet: pairs, a grid of leaves, levels along, a tick list."""
    rng, meant, all_doors = random.Random(13), Meant(), doors(5, 8, "HF")
    path = folder / "Handover forms.xlsx"
    write_book(path, {door["install_id"]: _form(rng, meant, door) for door in all_doors})
    meant.says(
        path, "Door no", "Date fitted", "Team", "Handed over", "Customer", "Postcode", "Overall width", "Overall height"
    )
    meant.says(
        path, "No. of leaves", "Material", "Head gap hinge", "Head gap lock", "Thresh gap hinge", "Thresh gap lock"
    )
    meant.says(
        path,
        "Diag 1",
        "Diag 2",
        "Level",
        "Clear height",
        "Sill bedded",
        "Drainage clear",
        "Locks operate",
        "Track clean",
    )
    return meant


def _form(rng: random.Random, meant: Meant, door: dict) -> list[list]:
    known, width = door["install_id"], door["width_mm"]
    rows: list[list] = [["DOOR HANDOVER FORM"], [], ["Door no", known, None, "Date fitted", door["fitted_on"]]]
    rows.append(["Team:", door["crew"], None, "Handed over:", door["handed_over_on"]])
    rows.append(["Customer", door["customer"], None, "Postcode", door["postcode"]])
    rows.append(["Overall width (mm)", width, None, "Overall height (mm)", door["height_mm"]])
    rows += [["No. of leaves", door["leaves"], None, "Material", door["material"]], []]
    rows.append(["Leaf", "Head gap hinge", "Head gap lock", "Thresh gap hinge", "Thresh gap lock", "Diag 1", "Diag 2"])
    for leaf in range(1, door["leaves"] + 1):
        gaps, diagonals = [gap(rng) for _ in range(4)], [float(rng.randrange(2290, 2300)) for _ in range(2)]
        rows.append([leaf, *gaps, *diagonals])
        meant.readings += ends(known, leaf, gaps)
        meant.readings += read(known, "leaf_diagonal", f"leaf_{leaf}", ["rising", "falling"], diagonals)
    sill, clear = [gap(rng, 0, 2) for _ in range(3)], [2100 + gap(rng, 0, 2) for _ in range(3)]
    rows += [["Average", 5, 5, 5, 5], [], ["Sill", "L", "C", "R"], ["Level", *sill], ["Clear height", *clear], []]
    meant.readings += read(known, "sill_height", "sill", [0.0, width / 2, width], sill)
    meant.readings += read(known, "clear_height", "head", [0.0, width / 2, width], clear)
    rows.append(["Check", "Y/N", "Remarks"])
    for text, name in TICKS.items():
        outcome = rng.choice(["Y", "Y", "N"])
        rows.append([text, outcome, "see photo" if outcome == "N" else None])
        meant.checks.append((known, name, None, {"Y": "pass", "N": "fail"}[outcome]))
    kept = "install_id fitted_on crew handed_over_on customer postcode width_mm height_mm leaves material"
    meant.installs.append(some(door, kept))
    return [*rows, [], ["Signed", "________"]]


def stacked(folder: Path) -> Meant:
    """Doors on top, sill levels below, checks beside them: three tables in one sheet; unit columns."""
    rng, meant, all_doors = random.Random(14), Meant(), doors(7, 12, "K")
    path = folder / "Site book.xlsx"
    rows: list[list] = [["PHASE 2 - DOORS"], []]
    rows.append(["Plot door", "Crew", "Install date", "Width", "Unit", "Height", "Unit", "Leaves"])
    below: list[list] = [[], ["LEVELS ALONG SILL (mm)"]]
    below.append(
        ["Plot door", "Left", "Quarter", "Centre", "3/4", "Right", None, None, "Plot door", "Track clean", "Locks work"]
    )
    for door in all_doors:
        known, width = door["install_id"], door["width_mm"]
        size = [width, "mm"] if rng.random() < 0.5 else [width / 1000, "m"]
        rows.append([known, door["crew"], door["fitted_on"], *size, door["height_mm"], "mm", door["leaves"]])
        meant.installs.append(some(door, "install_id crew fitted_on width_mm height_mm leaves"))
        sill, ticks = [gap(rng, 0, 2) for _ in range(5)], [rng.choice(["✓", "✓", "✗"]) for _ in range(2)]
        below.append([known, *sill, None, None, known, *ticks])
        meant.readings += read(known, "sill_height", "sill", [width * place / 4 for place in range(5)], sill)
        outcomes = [{"✓": "pass", "✗": "fail"}[one] for one in ticks]
        meant.checks += [(known, "track_clean", None, outcomes[0]), (known, "locks_operate", None, outcomes[1])]
    write_book(path, {"Phase 2": rows + below})
    meant.says(path, *rows[2], *[one for one in below[2] if one])
    return meant


def site_lead(folder: Path) -> Meant:
    """A column a door and a row a reading, with a mean column; teams and training; an export of calls."""
    rng, meant, all_doors = random.Random(16), Meant(), doors(13, 9, "SL-")
    path = folder / "Readings across.xlsx"
    labels = {
        "install_id": "Door ref",
        "crew": "Team",
        "fitted_on": "Date fitted",
        "width_mm": "Width",
        "height_mm": "Height",
    }
    rows: list[list] = [["Block A readings"]]
    rows += [[label, *[door[name] for door in all_doors]] for name, label in labels.items()]
    rows[1].append("Ø")
    rows[4].append(3000)
    for label, station in [("Frame diag up", "rising"), ("Frame diag down", "falling")]:
        values = [round((d["width_mm"] ** 2 + d["height_mm"] ** 2) ** 0.5) + rng.randrange(3) for d in all_doors]
        rows.append([label, *values, 3800])
        for door, value in zip(all_doors, values, strict=True):
            meant.readings.append((door["install_id"], "frame_diagonal", None, station, value))
    for label, share in [("Sill L", 0.0), ("Sill M", 0.5), ("Sill R", 1.0)]:
        values = [gap(rng, 0, 2) for _ in all_doors]
        rows.append([label, *values, 0.2])
        for door, value in zip(all_doors, values, strict=True):
            meant.readings.append((door["install_id"], "sill_height", "sill", door["width_mm"] * share, value))
    meant.installs += [some(door, " ".join(labels)) for door in all_doors]
    teams = [
        ["Team", "Started", "Finished"],
        *[[f"Team {one}", "2023-02-01", None] for one in ("North", "Quay", "Mill")],
    ]
    courses = [
        ["Team", "Topic", "When", "Hrs"],
        ["Team North", "sill", "2025-05-06", 6],
        ["Team Quay", "glazing", "2025-05-06", 6],
    ]
    meant.crews = [{"crew": row[0]} for row in teams[1:]]
    meant.training = [{"crew": row[0], "step": row[1]} for row in courses[1:]]
    write_book(path, {"Block A": rows, "Teams": teams, "Courses": courses})
    meant.says(path, *[row[0] for row in rows[1:]], "Team", "Started", "Topic", "When", "Hrs")
    _tickets(folder, meant, all_doors)
    return meant


def _tickets(folder: Path, meant: Meant, all_doors: list[dict]) -> None:
    calls = folder / "tickets_export.csv"
    rows: list[list] = [
        ["ticket_id", "created_at", "status", "door", "contact_name", "post_code", "description", "visit_date"]
    ]
    rows[0].append("root_cause_owner")
    for number, visit in enumerate(visits(17, all_doors, 8), 88120):
        who = some(visit, "install_id customer postcode note visited_on responsibility")
        rows.append([number, f"{visit['reported_on']} 09:15", "closed", *who.values()])
        meant.callbacks.append(who | {"callback_id": str(number), "reported_on": visit["reported_on"]})
    write_csv(calls, rows)
    meant.says(calls, *[one for one in rows[0] if one != "status"])

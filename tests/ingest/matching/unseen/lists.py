"""Firms that keep lists: a foreman's weekly tabs, an office register, QA grids; written before any mending.

Headings, order, blanks, totals and abbreviations are those of the trade and of common spreadsheet habit:
`common practice, no source`.
"""

import random
from pathlib import Path

from tests.ingest.matching.unseen.firm import Meant, doors, ends, gap, read, some, visits, write_book, write_csv


def foreman(folder: Path) -> Meant:
    """A foreman's survey: a tab a week, merged headings, ditto by blank, an average row; a desk's CSV."""
    rng, meant, all_doors = random.Random(11), Meant(), doors(1, 14, "P")
    path = folder / "Site measure spring.xlsx"
    top = ["Door", "Team", "Fitted", "O/A size", None, "Lvs", "Frame diags", None, "Sill levels", None, None]
    top += ["Jamb plumb LH", None, None, "Jamb plumb RH", None, None]
    low = [None, None, None, "W", "H", None, "1", "2", "L", "C", "R", *"TMB", *"TMB"]
    sheets = {}
    for week, some_doors in enumerate([all_doors[:7], all_doors[7:]]):
        rows = [["SITE MEASURE - all sizes mm unless said"], ["Foreman: kept by hand, levels from laser"], [], top, low]
        team = None
        for door in sorted(some_doors, key=lambda one: one["crew"]):
            rows.append(_measured(rng, meant, door, door["crew"] == team))
            team = door["crew"]
        widths = [door["width_mm"] for door in some_doors]
        rows += [["Average", None, None, round(sum(widths) / len(widths))], [], ["signed off by foreman"]]
        sheets[f"wk {14 + week}"] = rows
    write_book(path, sheets, {name: ["D4:E4", "G4:H4", "I4:K4", "L4:N4", "O4:Q4"] for name in sheets})
    meant.says(path, *top[:3], "O/A size / W", "O/A size / H", "Lvs", "Frame diags / 1", "Frame diags / 2")
    meant.says(path, "Sill levels / L", "Sill levels / C", "Sill levels / R")
    calls = folder / "service desk.csv"
    rows = [["Call ref", "Door", "Logged", "Visit", "What customer said", "Hours", "Cost £"]]
    for number, visit in enumerate(visits(2, all_doors, 9), 301):
        days = [f"{visit[name]:%d/%m/%Y}" for name in ("reported_on", "visited_on")]
        rows.append(
            [f"SC-{number}", visit["install_id"], *days, visit["note"], visit["hours"], f"£{visit['cost']:.2f}"]
        )
        kept = some(visit, "install_id reported_on visited_on note hours cost")
        meant.callbacks.append(kept | {"callback_id": f"SC-{number}"})
    write_csv(calls, rows, ";")
    meant.says(calls, *rows[0])
    return meant


def _measured(rng: random.Random, meant: Meant, door: dict, is_ditto: bool) -> list:
    known, width, height = door["install_id"], door["width_mm"], door["height_mm"]
    diagonals = [round((width**2 + height**2) ** 0.5 + rng.randrange(-2, 3)) for _ in range(2)]
    sill, jambs = [gap(rng, 0, 2) for _ in range(3)], [gap(rng, 0, 2) for _ in range(6)]
    meant.installs.append(some(door, "install_id crew fitted_on width_mm height_mm leaves"))
    meant.readings += read(known, "frame_diagonal", None, ["rising", "falling"], diagonals)
    meant.readings += read(known, "sill_height", "sill", [0.0, width / 2, width], sill)
    # which plane the plumb was taken in is not said: no reading of the jambs may be guessed
    team = None if is_ditto else door["crew"]
    return [known, team, door["fitted_on"], width, height, door["leaves"], *diagonals, *sill, *jambs]


def clerk(folder: Path) -> Meant:
    """An office register with split names and addresses; a log without numbers; a long measure sheet."""
    meant, all_doors = Meant(), doors(3, 15, "")
    _register(folder, meant, all_doors)
    log = folder / "Service log.xlsx"
    head = ["Date rec'd", "Order", "Name", "Problem", "Attended", "Engineer", "Due to", "Hrs", "Cost"]
    rows = [head]
    for visit in visits(4, all_doors, 10):
        due = {"installation": "fitting", "product": "product", "wear": "wear"}[visit["responsibility"]]
        said = [visit["customer"], visit["note"], visit["visited_on"], "PK", due, visit["hours"], visit["cost"]]
        rows.append([visit["reported_on"], int(visit["install_id"]), *said])
        meant.callbacks.append(some(visit, "customer reported_on visited_on note responsibility hours cost"))
    rows.append([None, None, None, None, None, "Total", None, 14.5, 900])
    write_book(log, {"Log": rows})
    meant.says(log, *[one for one in head if one != "Engineer"])
    rng, sheet = random.Random(12), folder / "Measure sheet.csv"
    rows = [["Order No", "Item", "Leaf", "End", "Reading", "Units", "Date", "By"]]
    for door in all_doors:
        for leaf in range(1, door["leaves"] + 1):
            gaps = [gap(rng) for _ in range(4)]
            meant.readings += ends(door["install_id"], leaf, gaps)
            places = [(item, end) for item in ("head gap", "threshold gap") for end in ("hinge", "lock")]
            day = f"{door['fitted_on']:%d/%m/%Y}"
            said = zip(places, gaps, strict=True)
            rows += [[door["install_id"], item, leaf, end, value, "mm", day, "PK"] for (item, end), value in said]
    write_csv(sheet, rows)
    meant.says(sheet, *rows[0])
    return meant


def _register(folder: Path, meant: Meant, all_doors: list[dict]) -> None:
    register = folder / "Order book 2025.csv"
    head = [
        "Order No.",
        "First name",
        "Surname",
        "Site addr 1",
        "Town",
        "Post code",
        "System",
        "Frame mat'l",
        "Col",
        "Lvs",
    ]
    head += ["O/A W", "O/A H", "Fixed", "Gang", "H/over", "New/Repl", "Order value"]
    rows = [head]
    words = {"pvc-u": "PVCu", "aluminium": "Ali", "timber": "Timber", "new": "New", "replacement": "Repl"}
    for number, door in enumerate(all_doors):
        place = [*door["customer"].split(" ", 1), *some(door, "address town postcode product").values()]
        size = [door["colour"].title(), door["leaves"], int(door["width_mm"]), int(door["height_mm"])]
        fitted, handed = (f"{door[name]:%d/%m/%Y}" for name in ("fitted_on", "handed_over_on"))
        work = [fitted, door["crew"], handed, words[door["work"]], f"{3000 + 311 * number}.00"]
        rows.append([door["install_id"], *place, words[door["material"]], *size, *work])
        kept = (
            "install_id customer product material colour leaves width_mm height_mm fitted_on crew handed_over_on work"
        )
        meant.installs.append(some(door, f"{kept} postcode") | {"address": f"{door['address']}, {door['town']}"})
    rows.append([f"TOTAL {len(all_doors)}", *[""] * 15, "81000.00"])
    write_csv(register, rows)
    meant.says(register, *head[:-1])


def grids(folder: Path) -> Meant:
    """A row a leaf and numbered columns; a doors tab and a callbacks tab in the same workbook."""
    rng, meant, all_doors = random.Random(15), Meant(), doors(9, 11, "G")
    path = folder / "QA readings.xlsx"
    sheets: dict[str, list[list]] = {"Doors": [["Ref", "Squad", "Done", "W mm", "H mm", "# leaves", "Mat", "Floor"]]}
    sheets["Levels"] = [
        [None, "Sill (mm)", None, None, None, None, "Head to sill", None, None],
        ["Ref", 1, 2, 3, 4, 5, 1, 2, 3],
    ]
    sheets["Leaves"] = [
        ["Ref", "Leaf", "Hd gap H", "Hd gap L", "Thr gap H", "Thr gap L", "Side T", "Side B", "Dg1", "Dg2"]
    ]
    sheets["Leaves"][0] += ["Hinge pkrs T", "Hinge pkrs B"]
    sheets["Callbacks"] = [["Ref", "Called", "Went", "Fault found", "Hrs on site"]]
    for door in all_doors:
        known, width = door["install_id"], door["width_mm"]
        facts = some(door, "install_id crew fitted_on width_mm height_mm leaves material storey")
        meant.installs.append(facts)
        sheets["Doors"].append(list(facts.values()))
        sill, clear = [gap(rng, 0, 2) for _ in range(5)], [2080 + gap(rng, 0, 2) for _ in range(3)]
        sheets["Levels"].append([known, *sill, *clear])
        meant.readings += read(known, "sill_height", "sill", [width * place / 4 for place in range(5)], sill)
        meant.readings += read(known, "clear_height", "head", [0.0, width / 2, width], clear)
        sheets["Leaves"] += [_leaf_row(rng, meant, known, leaf) for leaf in range(1, door["leaves"] + 1)]
    sheets["Levels"] += [["Mean", 0.1, 0.2, 0.1, 0, 0.3, 2080, 2080, 2080], ["Max", 2, 2, 2, 2, 2, 2082, 2082, 2082]]
    for visit in visits(10, all_doors, 8):
        said = some(visit, "install_id reported_on visited_on note hours")
        sheets["Callbacks"].append(list(said.values()))
        meant.callbacks.append(said)
    write_book(path, sheets, {"Levels": ["B1:F1", "G1:I1"]})
    meant.says(path, *sheets["Doors"][0], *sheets["Leaves"][0], *sheets["Callbacks"][0])
    meant.says(path, *[f"Sill (mm) / {n}" for n in range(1, 6)], *[f"Head to sill / {n}" for n in range(1, 4)])
    return meant


def _leaf_row(rng: random.Random, meant: Meant, known: str, leaf: int) -> list:
    gaps = [gap(rng) for _ in range(6)]
    diagonals = [float(rng.randrange(2290, 2300)) for _ in range(2)]
    packers = [rng.randrange(0, 4) for _ in range(2)]
    member, top_bottom = f"leaf_{leaf}", ["top", "bottom"]
    meant.readings += ends(known, leaf, gaps) + read(known, "side_gap", member, top_bottom, gaps[4:])
    meant.readings += read(known, "leaf_diagonal", member, ["rising", "falling"], diagonals)
    meant.readings += read(known, "hinge_packers", member, top_bottom, packers)
    return [known if leaf == 1 else None, f"Leaf {leaf}", *gaps, *diagonals, *packers]

"""A firm whose office, desk, fitters and store each keep their own; written before any mending for it.

Headings, order, blanks, totals and the fitters' words are those of the trade and of common spreadsheet habit:
`common practice, no source`.
"""

import random
from datetime import date
from pathlib import Path

from tests.ingest.matching.unseen.firm import Meant, doors, ends, gap, read, some, visits, write_book, write_csv


def whole_office(folder: Path) -> Meant:
    """A register by halves of a year, a desk's export without numbers, a tall log, forms, and a sheet of lists."""
    rng, meant, all_doors = random.Random(61), Meant(), doors(61, 16, "B")
    _register(folder / "Door register.xlsx", meant, all_doors)
    _desk(folder / "desk export 2025.csv", meant, all_doors)
    _log(folder / "fitters log.xlsx", meant, all_doors, rng)
    _forms(folder / "Handover forms.xlsx", meant, all_doors[10:], rng)
    _lists(folder / "Teams and kit.xlsx", meant, all_doors[:4], rng)
    return meant


def _register(path: Path, meant: Meant, all_doors: list[dict]) -> None:
    """Title rows, headings merged over headings, a blank row below them, a team written once, a total at the end."""
    top = ["Our ref", "Job", "Gang", "System", None, "Overall size (m)", None, "Panels", "Programme", None, None]
    low = [None, None, None, "Range", "Frame", "W", "H", None, "Measured up", "Fitted", "Signed off"]
    top, low = [*top, "Client", None, None, "Finish"], [*low, "Name", "Site", "P/code", None]
    days = ("surveyed_on", "fitted_on", "handed_over_on")
    sheets = {}
    for name, half in {"2025 first half": all_doors[:8], "2025 second half": all_doors[8:]}.items():
        rows, team = [[f"DOORS FITTED {name}"], ["Kept by the office"], [], top, low, []], None
        for door in sorted(half, key=lambda one: one["crew"]):
            size = [door["width_mm"] / 1000, str(door["height_mm"] / 1000).replace(".", ",")]
            row = [door["install_id"], door["job_no"], None if door["crew"] == team else door["crew"], door["product"]]
            row += [door["material"], *size, door["leaves"], *(door[day] for day in days)]
            rows.append([*row, door["customer"], door["address"], door["postcode"], door["colour"]])
            team = door["crew"]
        rows += [["Total", None, None, None, None, None, None, sum(door["leaves"] for door in half)], ["checked"]]
        sheets[name] = rows
    write_book(path, sheets, {name: ["D4:E4", "F4:G4", "I4:K4", "L4:N4"] for name in sheets})
    names = "install_id job_no crew product leaves width_mm height_mm surveyed_on fitted_on handed_over_on customer"
    meant.installs += [some(door, f"{names} address postcode colour") for door in all_doors]
    meant.says(path, "Our ref", "Job", "Gang", "System / Range", "Panels", "Client / Name", "Client / Site", "Finish")
    meant.says(path, "Overall size (m) / W", "Overall size (m) / H", "Programme / Measured up", "Programme / Fitted")


def _desk(path: Path, meant: Meant, all_doors: list[dict]) -> None:
    """Job numbers with a letter before them, decimal commas, no number of the callback."""
    why = {"installation": "fitting", "product": "manufacturer", "wear": "wear & tear"}
    rows = [["Job number", "Call logged", "Attended", "Client", "Engineer's comments", "Time on site (h)", "Down to"]]
    for one in visits(62, all_doors, 9):
        days = [f"{one['reported_on']:%d/%m/%Y}", f"{one['visited_on']:%d/%m/%Y}"]
        hours = str(one["hours"]).replace(".", ",")
        rows.append([f"J{one['job_no']}", *days, one["customer"], one["note"], hours, why[one["responsibility"]]])
        kept = some(one, "reported_on visited_on customer note hours responsibility")
        meant.callbacks.append({"job_no": f"J{one['job_no']}", **kept})
    write_csv(path, rows, ";")
    meant.says(path, *rows[0])


def _log(path: Path, meant: Meant, all_doors: list[dict], rng: random.Random) -> None:
    """A line a reading in the fitters' words; who, when and which door in the first line of each door only."""
    rows: list[list] = [["When", "Who", "Door", "What was measured", "Result", "Remarks"]]
    for door in all_doors[:6]:
        known, width = door["install_id"], door["width_mm"]
        levels, gaps = [gap(rng, 12.0, 3.0) for _ in range(3)], [gap(rng) for _ in range(2)]
        tapes = [round((width**2 + door["height_mm"] ** 2) ** 0.5 + rng.randrange(-2, 3)) for _ in range(2)]
        said = [("sill, left end", f"{levels[0]:g}mm"), ("sill in the middle", f"{levels[1]:g} mm")]
        said += [("sill, right end", str(levels[2]).replace(".", ",")), ("panel 1 top gap hinge", f"{gaps[0]:g} mm")]
        said += [("panel 1 top gap lock", gaps[1]), ("diagonal / (bottom left up)", f"{tapes[0]} mm")]
        said += [("diagonal bottom right to top left", tapes[1]), ("panel 2 side gap top", "ok")]
        for place, (what, result) in enumerate(said):
            who = [None, None, None] if place else [f"{door['fitted_on']:%d/%m/%Y}", "Wim", known]
            rows.append([*who, what, result, "windy" if place == 4 else None])
        meant.readings += read(known, "sill_height", "sill", [0.0, width / 2, width], levels)
        meant.readings += read(known, "head_gap", "leaf_1", ["hinge", "lock"], gaps)
        meant.readings += read(known, "frame_diagonal", None, ["rising", "falling"], tapes)
    write_book(path, {"log": rows})
    meant.says(path, "When", "Who", "Door", "What was measured", "Result")


def _forms(path: Path, meant: Meant, some_doors: list[dict], rng: random.Random) -> None:
    """Labels left, values right; two small tables that name the same leaves, their title over them."""
    ways = ["Top, hinge side", "Top, lock side", "Bottom, hinge side", "Bottom, lock side"]
    sheets = {}
    for door in some_doors:
        known, leaves = door["install_id"], range(1, door["leaves"] + 1)
        gaps = {leaf: [gap(rng) for _ in range(4)] for leaf in leaves}
        ticks = {leaf: rng.choice(["pass", "fail"]) for leaf in leaves}
        rows = [
            ["HANDOVER FORM"],
            [],
            ["Door reference:", known, None, "Fitting team:", door["crew"]],
            [],
            ["Gaps (cm)"],
        ]
        rows += [
            [None, *ways],
            *([f"Leaf {leaf}", *(one / 10 for one in gaps[leaf])] for leaf in leaves),
            [],
            ["Glazing"],
        ]
        rows += [[None, "Toe & heel"], *([f"Leaf {leaf}", "✓" if ticks[leaf] == "pass" else "✗"] for leaf in leaves)]
        sheets[known] = [*rows, [], ["Drain slots clear", "✓"], ["Track cleaned", "n/a"]]
        for leaf in leaves:
            meant.readings += ends(known, leaf, gaps[leaf])
            meant.checks.append((known, "toe_and_heel", f"leaf_{leaf}", ticks[leaf]))
        meant.checks += [(known, "drainage_clear", None, "pass"), (known, "track_clean", None, "not_applicable")]
    write_book(path, sheets)
    meant.says(path, "Door reference", *ways, "Toe & heel", "Drain slots clear", "Track cleaned")


def _lists(path: Path, meant: Meant, some_doors: list[dict], rng: random.Random) -> None:
    """Lists side by side on one sheet, pulls by leaf below them, a stray remark."""
    teams = {"Team North": date(2021, 3, 1), "Team Quay": date(2022, 9, 5), "Team Mill": date(2023, 1, 9)}
    courses = [("Team Quay", "glazing", date(2025, 2, 3), 3.5), ("Team Mill", "sill", date(2025, 5, 6), 2.0)]
    rows: list[list] = [["Teams and kit"], [], ["Team", "Started", None, "Team", "Course", "Held on", "Hrs"]]
    rows[2] += [None, "Gauge", "Type", "Max error ±mm", None, "remarks"]
    kit = [["tape 4", "tape", 0.5], ["laser 1", "laser", "0,3"], [None, None, None]]
    for place, (team, started) in enumerate(teams.items()):
        course = [*courses[place]] if place < len(courses) else [None] * 4
        rows.append([team, started, None, *course, None, *kit[place]])
    rows += [[], ["Door", "Leaf", "Pull (N)"]]
    for door in some_doors:
        for leaf in (1, 2):
            rows.append([door["install_id"], leaf, rng.randrange(25, 70)])
            meant.readings += [(door["install_id"], "running_force", f"leaf_{leaf}", None, rows[-1][2])]
    write_book(path, {"kit": rows})
    meant.crews += [{"crew": team, "joined_on": started} for team, started in teams.items()]
    meant.training += [dict(zip(("crew", "step", "trained_on", "hours"), one, strict=True)) for one in courses]
    meant.says(path, "Started", "Course", "Held on", "Hrs", "Gauge", "Type", "Max error ±mm", "Pull (N)")

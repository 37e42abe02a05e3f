"""Three firms written last of all, after all mending but for what their first measuring showed.

Headings, order, blanks, totals and abbreviations are those of the trade and of common spreadsheet habit:
`common practice, no source`.
"""

import random
from pathlib import Path

from tests.ingest.matching.unseen.firm import Meant, doors, ends, gap, read, some, visits, write_book, write_csv


def survey_office(folder: Path) -> Meant:
    """Surveys of openings and fixings along the jambs in one workbook; the fitting diary in a CSV with semicolons."""
    rng, meant, all_doors = random.Random(41), Meant(), doors(41, 13, "V")
    path = folder / "Surveys.xlsx"
    openings = [["Opening sizes, before fitting"], []]
    openings.append(
        ["Ref", "Survey dt", "Opening width (mm)", None, None, "Opening height (mm)", None, None, "Opening diags", None]
    )
    openings.append([None, None, "Top", "Mid", "Bottom", "L", "M", "R", "A-C", "B-D"])
    fixings = [["Ref", "LH jamb fixings (mm from bottom)", None, None, "RH jamb fixings (mm from bottom)", None, None]]
    fixings.append([None, "1", "2", "3", "1", "2", "3"])
    for door in all_doors:
        known, width, height = door["install_id"], door["width_mm"], door["height_mm"]
        widths, heights = ([size + 20 + gap(rng, 0, 2) for _ in range(3)] for size in (width, height))
        diagonals = [round((width**2 + height**2) ** 0.5) + rng.randrange(20, 26) for _ in range(2)]
        openings.append([known, door["surveyed_on"], *widths, *heights, *diagonals])
        meant.readings += read(known, "aperture_width", None, ["top", "centre", "bottom"], widths)
        meant.readings += read(known, "aperture_height", None, ["left", "centre", "right"], heights)
        meant.readings += read(known, "aperture_diagonal", None, ["rising", "falling"], diagonals)
        jambs = [[float(rng.randrange(a, a + 60, 5)) for a in (150, 800, 1500)] for _ in range(2)]
        fixings.append([known, *jambs[0], *jambs[1]])
        meant.readings += read(known, "fixing", "left_jamb", ["1", "2", "3"], jambs[0])
        meant.readings += read(known, "fixing", "right_jamb", ["1", "2", "3"], jambs[1])
    openings.append(["Mean", None, 3000.1, 3000.2, 3000.3, 2200.0, 2200.0, 2200.0, 3900, 3900])
    merges = {"Openings": ["C3:E3", "F3:H3", "I3:J3"], "Fixings": ["B1:D1", "E1:G1"]}
    write_book(path, {"Openings": openings, "Fixings": fixings}, merges)
    meant.says(path, "Ref", *[f"Opening width (mm) / {one}" for one in ("Top", "Mid", "Bottom")])
    meant.says(path, *[f"Opening height (mm) / {one}" for one in "LMR"], "Opening diags / A-C", "Opening diags / B-D")
    meant.says(path, *[f"{side}H jamb fixings (mm from bottom) / {n}" for side in "LR" for n in (1, 2, 3)])
    _diary(folder, meant, all_doors)
    return meant


def _diary(folder: Path, meant: Meant, all_doors: list[dict]) -> None:
    path = folder / "Fitting diary.csv"
    rows = [
        [
            "Ref",
            "Gang",
            "Fit date",
            "Sign-off",
            "Lvs",
            "Mat.",
            "Col.",
            "W",
            "H",
            "New/Repl",
            "Client",
            "Addr",
            "PC",
            "Initials",
        ]
    ]
    material = {"aluminium": "Alu", "timber": "Hardwood", "pvc-u": "uPVC"}
    for door in all_doors:
        size = [int(door["width_mm"]), int(door["height_mm"]), {"new": "N", "replacement": "R"}[door["work"]]]
        days = [f"{door[name]:%d-%b-%Y}" for name in ("fitted_on", "handed_over_on")]
        colour = {"dark": "Anthracite grey", "light": "White"}[door["colour"]]
        place = [door["customer"], door["address"], door["postcode"], "PK"]
        rows.append(
            [door["install_id"], door["crew"], *days, door["leaves"], material[door["material"]], colour, *size, *place]
        )
        kept = "install_id crew fitted_on handed_over_on leaves material colour width_mm height_mm work"
        meant.installs.append(some(door, f"{kept} customer address postcode"))
    write_csv(path, rows, ";")
    meant.says(path, *rows[0][:-1])


def one_sheet(folder: Path) -> Meant:
    """Everything of a door in one row: gaps by leaf in letters, ticks, and what it came back for."""
    rng, meant, all_doors = random.Random(43), Meant(), doors(43, 12, "A-")
    path = folder / "All doors.xlsx"
    letters = [f"L{leaf} {one}" for leaf in (1, 2) for one in ("HG hinge", "HG lock", "TG hinge", "TG lock")]
    head = [
        "Door",
        "Fitters",
        "Put in",
        "Width",
        "Height",
        "Leaves",
        *letters,
        "Drains clear",
        "Locks OK",
        "Called back",
        "Reason",
    ]
    rows: list[list] = [head]
    called = {visit["install_id"]: visit for visit in visits(44, all_doors, 5)}
    for door in all_doors:
        known, gaps = door["install_id"], [gap(rng) for _ in letters]
        ticks = [rng.choice(["Y", "N"]) for _ in range(2)]
        visit = called.get(known, {})
        facts = list(some(door, "install_id crew fitted_on width_mm height_mm leaves").values())
        rows.append([*facts, *gaps, *ticks, visit.get("reported_on"), visit.get("note")])
        meant.installs.append(some(door, "install_id crew fitted_on width_mm height_mm leaves"))
        meant.readings += ends(known, 1, gaps[:4]) + ends(known, 2, gaps[4:])
        outcomes = [{"Y": "pass", "N": "fail"}[one] for one in ticks]
        meant.checks += [(known, "drainage_clear", None, outcomes[0]), (known, "locks_operate", None, outcomes[1])]
    meant.callbacks = [some(visit, "install_id reported_on note") for visit in called.values()]
    write_book(path, {"All": rows})
    meant.says(path, *head)
    return meant


def two_people(folder: Path) -> Meant:
    """A form a door with a column a leaf and a table of jambs; calls known by name and postcode only."""
    rng, meant, all_doors = random.Random(45), Meant(), doors(45, 7, "T")
    path = folder / "Job forms.xlsx"
    sheets = {door["install_id"]: _job_form(rng, meant, door) for door in all_doors}
    write_book(path, sheets)
    meant.says(path, "Door no", "Fitted by", "On", "Width", "Height", "Customer", "Postcode")
    meant.says(path, "Head gap hinge side", "Head gap lock side", "Diagonal up", "Diagonal down", "Running force")
    calls = folder / "calls.csv"
    rows: list[list] = [["No", "When they rang", "Name", "PC", "Says", "Went", "Hours", "£"]]
    for number, visit in enumerate(visits(46, all_doors, 8), 1):
        said = [visit["customer"], visit["postcode"], visit["note"], visit["visited_on"], visit["hours"], visit["cost"]]
        rows.append([number, visit["reported_on"], *said])
        kept = some(visit, "customer postcode reported_on visited_on note hours cost")
        meant.callbacks.append(kept | {"callback_id": str(number)})
    write_csv(calls, rows)
    meant.says(calls, *rows[0])
    return meant


def _job_form(rng: random.Random, meant: Meant, door: dict) -> list[list]:
    known, leaves = door["install_id"], range(1, door["leaves"] + 1)
    form: list[list] = [["JOB FORM"], [], [f"Door no: {known}", None, f"Fitted by: {door['crew']}"]]
    form += [[f"On: {door['fitted_on']}"], ["Width", door["width_mm"], "Height", door["height_mm"]]]
    form += [["Customer", door["customer"], "Postcode", door["postcode"]], []]
    form.append(["Leaf readings", *[f"Leaf {leaf}" for leaf in leaves]])
    labels = [("Head gap hinge side", "head_gap", "hinge"), ("Head gap lock side", "head_gap", "lock")]
    labels += [("Diagonal up", "leaf_diagonal", "rising"), ("Diagonal down", "leaf_diagonal", "falling")]
    for label, measure, station in labels:
        values = [gap(rng) if measure == "head_gap" else float(rng.randrange(2290, 2300)) for _ in leaves]
        form.append([label, *values])
        meant.readings += [
            (known, measure, f"leaf_{leaf}", station, value) for leaf, value in zip(leaves, values, strict=True)
        ]
    pulls = [float(rng.randrange(30, 70)) for _ in leaves]
    form += [["Running force (N)", *pulls], [], ["Signed", "____"]]
    meant.readings += [
        (known, "running_force", f"leaf_{leaf}", None, pull) for leaf, pull in zip(leaves, pulls, strict=True)
    ]
    meant.installs.append(some(door, "install_id crew fitted_on width_mm height_mm customer postcode"))
    return form

"""Three more firms, written after the mending and measured once before anything was mended for them.

Headings, order, blanks, totals and abbreviations are those of the trade and of common spreadsheet habit:
`common practice, no source`.
"""

import random
from pathlib import Path

from tests.ingest.matching.unseen.firm import Meant, doors, ends, gap, read, some, visits, write_book, write_csv


def depot(folder: Path) -> Meant:
    """A sheet for each crew, named after it; headings over headings, subtotals; toolbox talks in a CSV."""
    rng, meant, all_doors = random.Random(21), Meant(), doors(21, 15, "SN")
    path = folder / "Depot east spring 2025.xlsx"
    upper = ["Door", None, None, None, None, "Frame as set", None, None, None, "Sill staff readings", None, None, None]
    lower = [
        "Serial",
        "Site",
        "P/code",
        "Date hung",
        "No lvs",
        "Width",
        "Height",
        "Diag TL-BR",
        "Diag BL-TR",
        0,
        1000,
        2000,
    ]
    sheets = {}
    for crew in ["North", "Quay", "Mill"]:
        rows = [["EAST DEPOT - MEASURED BY FITTING TEAM"], ["Sizes in mm, levels in mm under the line"], [], upper]
        rows.append([*lower, "Remarks"])
        for number, door in enumerate(one for one in all_doors if one["crew"] == f"Team {crew}"):
            rows.append(_set_frame(rng, meant, door, crew))
            if number == 2:
                rows.append(["Sub total", None, None, None, 9, 9000, 6600])
        sheets[crew] = [*rows, [None, None, None, "Ave", None, 3000, 2200]]
    write_book(path, sheets, {name: ["A4:E4", "F4:I4", "J4:L4"] for name in sheets})
    for over, some_heads in (("Door", lower[:5]), ("Frame as set", lower[5:9]), ("Sill staff readings", lower[9:])):
        meant.says(path, *[f"{over} / {one}" for one in some_heads])
    talks = folder / "toolbox talks.csv"
    rows = [["Gang", "Talk", "Given on", "Mins"]]
    rows += [["North", "Setting sills", "2025-04-02", 45], ["Mill", "Toe and heel", "2025-05-14", 30]]
    write_csv(talks, rows)
    meant.training = [{"crew": "North", "step": "sill"}, {"crew": "Mill", "step": "glazing"}]
    meant.says(talks, "Gang", "Talk", "Given on")
    return meant


def _set_frame(rng: random.Random, meant: Meant, door: dict, crew: str) -> list:
    known, width, height = door["install_id"], door["width_mm"], door["height_mm"]
    falling, rising = (round((width**2 + height**2) ** 0.5 + rng.randrange(-2, 3)) for _ in range(2))
    levels = [gap(rng, 0, 2) for _ in range(3)]
    facts = some(door, "install_id address postcode fitted_on leaves")
    meant.installs.append(facts | {"crew": crew})
    meant.readings += read(known, "frame_diagonal", None, ["rising", "falling"], [rising, falling])
    meant.readings += [(known, "frame_width", None, None, width), (known, "frame_height", None, None, height)]
    meant.readings += read(known, "sill_height", "sill", [0.0, 1000.0, 2000.0], levels)
    return [*facts.values(), width, height, falling, rising, *levels, rng.choice(["ok", None])]


def subcontractor(folder: Path) -> Meant:
    """A register out of a database, headings in one word; callouts under another firm's letterhead, months between."""
    meant, all_doors = Meant(), doors(23, 16, "R/")
    register = folder / "door_register_export.csv"
    names = {"doorSerial": "install_id", "jobNumber": "job_no", "installTeam": "crew", "overallWidthMm": "width_mm"}
    names |= {
        "overallHeightMm": "height_mm",
        "leafCount": "leaves",
        "profileMaterial": "material",
        "frameColour": "colour",
    }
    names |= {
        "doorRange": "product",
        "dateInstalled": "fitted_on",
        "dateHandedOver": "handed_over_on",
        "storeyLevel": "storey",
    }
    names |= {"clientName": "customer", "sitePostcode": "postcode"}
    meant.installs = [some(door, " ".join(names.values())) for door in all_doors]
    write_csv(register, [[*names, "lastModified"], *[[*one.values(), "2025-12-01T10:00:00"] for one in meant.installs]])
    meant.says(register, *names)
    path = folder / "Callouts to us 2025.xlsx"
    head = ["Job Card", "Your door", "Occupier", "Postcode", "Rang in", "Attended on", "Complaint", "Diagnosis"]
    head += ["Responsible", "Time on site (hrs)", "Net cost"]
    rows: list[list] = [["A SERVICE FIRM"], ["Callouts attended on your behalf"], [], [None, "Period:", "Q4"], head]
    words = {"installation": "Installer", "product": "Manufacturer", "wear": "Fair wear and tear"}
    faults = [("stiff", "stiff_running"), ("leak", "water_ingress"), ("dropped", "dropped_leaf")]
    for number, visit in enumerate(visits(24, all_doors, 12)):
        rows += [["November"]] if number == 0 else [["Later"]] if number == 6 else []
        kept = some(visit, "install_id customer postcode reported_on visited_on note")
        found, fault = faults[number % 3]
        tail = [found, words[visit["responsibility"]], visit["hours"], visit["cost"]]
        rows.append([f"JC{700 + number}", *kept.values(), *tail])
        kept |= some(visit, "responsibility hours cost") | {"callback_id": f"JC{700 + number}", "fault": fault}
        meant.callbacks.append(kept)
    write_book(path, {"Sheet1": [*rows, ["Total", *[None] * 8, 15, 900]]})
    meant.says(path, *head)
    return meant


def inspector(folder: Path) -> Meant:
    """Certificates with names in parts and units beside; a row a reading; ticks over pulls in one sheet; returns."""
    meant, all_doors = Meant(), doors(27, 10, "C")
    _certificates(folder, meant, all_doors)
    _inspection(folder, meant, all_doors)
    _ticks_and_pulls(folder, meant, all_doors)
    path = folder / "Returns.xlsx"
    head = ["Date of call", "Door", "What was wrong", "Sorted on", "Man hours"]
    meant.callbacks = [some(one, "reported_on install_id note visited_on hours") for one in visits(28, all_doors, 9)]
    write_book(path, {"Sheet": [head, *[list(one.values()) for one in meant.callbacks]]})
    meant.says(path, *head)
    return meant


def _certificates(folder: Path, meant: Meant, all_doors: list[dict]) -> None:
    path = folder / "Handover certs.xlsx"
    head = ["Door ID", "Forename", "Surname", "House", "Street", "Town", "Post code", "Fitters", "Date of fitting"]
    head += ["Cert date", "Width", "Units", "Height", "Units", "Panels", "Type of work"]
    rows: list[list] = [["Cert", *head]]
    for number, door in enumerate(all_doors):
        house, street = door["address"].split(" ", 1)
        size = [door["width_mm"] / 10, "cm"] if number % 2 else [door["width_mm"], "mm"]
        work = {"new": "New build", "replacement": "Replacement"}[door["work"]]
        who = [*door["customer"].split(" ", 1), int(house), street, door["town"], door["postcode"], door["crew"]]
        tail = [door["fitted_on"], door["handed_over_on"], *size, door["height_mm"] / 1000, "m", door["leaves"], work]
        rows.append([f"HC{number}", door["install_id"], *who, *tail])
        kept = some(door, "install_id customer postcode crew fitted_on handed_over_on width_mm height_mm leaves work")
        meant.installs.append(kept | {"address": f"{house}, {street}, {door['town']}"})
    write_book(path, {"Sheet": rows})
    meant.says(path, *head)


def _inspection(folder: Path, meant: Meant, all_doors: list[dict]) -> None:
    rng = random.Random(29)
    path = folder / "Inspection readings.csv"
    head = ["Door", "Item", "Leaf no", "Pos", "mm from left", "Val", "UoM", "Gauge used", "Inspected", "Inspector"]
    rows: list[list] = [head]
    places = [(item, end) for item in ("Head margin", "Threshold margin") for end in ("hinge", "lock")]
    for door in all_doors:
        known, tail = door["install_id"], ["gauge 2", door["fitted_on"], "RT"]
        for leaf in range(1, door["leaves"] + 1):
            gaps = [gap(rng) for _ in places]
            said = zip(places, gaps, strict=True)
            rows += [[known, item, leaf, end, None, value, "mm", *tail] for (item, end), value in said]
            meant.readings += ends(known, leaf, gaps)
        for place in (0.0, 900.0, 1800.0):
            value = gap(rng, 0, 2)
            rows.append([known, "Sill level", None, None, int(place), value / 10, "cm", *tail])
            meant.readings.append((known, "sill_height", "sill", place, value))
    write_csv(path, rows)
    meant.says(path, *head)


def _ticks_and_pulls(folder: Path, meant: Meant, all_doors: list[dict]) -> None:
    rng = random.Random(30)
    path = folder / "Final check.xlsx"
    head = ["Door", "Beads tight L1", "Beads tight L2", "T&H L1", "T&H L2", "Handles OK", "Drips cleared"]
    rows: list[list] = [["FINAL CHECKS"], head]
    pulls: list[list] = [[], ["PULLS TO RUN (N)"], ["Door", "Running force leaf 1", "Running force leaf 2"]]
    names = [(check, leaf) for check in ("beads_seated", "toe_and_heel") for leaf in ("leaf_1", "leaf_2")]
    names.append(("handles_smooth", None))
    words = {"OK": "pass", "NOT OK": "fail", "NA": "not_applicable"}
    for door in all_doors:
        known, ticks = door["install_id"], [rng.choice(["OK", "OK", "NOT OK", "NA"]) for _ in names]
        rows.append([known, *ticks, "OK"])
        meant.checks += [(known, *name, words[tick]) for name, tick in zip(names, ticks, strict=True)]
        forces = [float(rng.randrange(30, 70)) for _ in range(2)]
        pulls.append([known, *forces])
        meant.readings += [(known, "running_force", f"leaf_{n}", None, force) for n, force in enumerate(forces, 1)]
    write_book(path, {"Sheet": [*rows, *pulls, ["Max", 70, 70]]})
    meant.says(path, *head[:-1], *pulls[2])

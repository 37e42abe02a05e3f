"""Worked examples of the trade's geometry, from a file of readings to the table of deviations.

The formulas are plane geometry; the examples are worked by hand, common practice, no source, but where one is named.
"""

import math
from collections.abc import Iterable
from pathlib import Path

import duckdb
import pytest

from pipeline.progress import Silence
from pipeline.run import run_firm

Reading = tuple[str, str, str, str, float | None, float | str]  # door, measure, member, station, position, value

WIDTHS = {"racked": 4000, "six": 4000, "sill": 4500, "leaf": 900, "lean": 3000}
FIXING_LENGTHS = [700, 1200, 2100, 2400, 3000, 3600, 4000, 4500, 5000, 6000]
FIXING_NEEDED = [2, 3, 4, 5, 6, 7, 7, 8, 9, 11]
SIX_LENGTHS = {
    "planar": (4000, 2101.002, 4001.000, 2100.001, 4520.864, 4515.972),
    "rounded": (4000, 2101, 4001, 2100, 4521, 4516),
    "misread diagonal": (4000, 2101, 4001, 2100, 4511, 4516),
    "misread head": (4000, 2101, 4011, 2100, 4521, 4516),
}
GAPS = {
    ("pvc-u", "light"): (5, 5, 7.5),
    ("pvc-u", "dark"): (7.5, 7.5, 11),
    ("timber", "light"): (5, 5, 5),
    ("aluminium", "dark"): (5, 5, 7.5),
    ("steel", "light"): (4, 5, 6),
}
GAP_WIDTHS = (1200, 2400, 4000)


def diagonals(door: str, measure: str, rising: float, falling: float, member: str = "") -> list[Reading]:
    return [(door, measure, member, "rising", None, rising), (door, measure, member, "falling", None, falling)]


def along(door: str, measure: str, member: str, places: Iterable[float], values: Iterable[float]) -> list[Reading]:
    return [(door, measure, member, "", place, value) for place, value in zip(places, values, strict=True)]


def six_lengths(door: str, lengths: tuple[float, ...]) -> list[Reading]:
    sill, right, head, left, rising, falling = lengths
    return [
        *along(door, "frame_width", "", (0, 2100), (sill, head)),
        *along(door, "frame_height", "", (0, 4000), (left, right)),
        *diagonals(door, "frame_diagonal", rising, falling),
    ]


def evenly(length: float, count: int) -> list[float]:
    return [250 + k * (length - 500) / (count - 1) for k in range(count)]


def readings() -> list[Reading]:
    rows = diagonals("racked", "frame_diagonal", 4521, 4515)
    for name, lengths in SIX_LENGTHS.items():
        rows += six_lengths(name, lengths)
    staff = (1250, 1251, 1253, 1254, 1253, 1252, 1252)  # a bigger staff reading is a lower sill
    rows += along("sill", "sill_height", "sill", range(0, 4501, 750), [1250 - reading for reading in staff])
    rows += along("plumb", "jamb_edge", "left_jamb", (0, 1050, 2100), (12.0, 13.1, 14.6))
    rows += along("twist", "jamb_face", "left_jamb", (0, 2100), (20.0, 23.5))
    rows += along("twist", "jamb_face", "right_jamb", (0, 2100), (20.0, 18.5))
    rows += along("head", "clear_height", "head", (50, 1500, 3000, 4450), (2098, 2097, 2095, 2094.5))
    rows += [
        ("leaf", "head_gap", "leaf_1", "hinge", 50, 5.0),
        ("leaf", "head_gap", "leaf_1", "lock", 850, 8.5),
        ("leaf", "threshold_gap", "leaf_1", "hinge", 50, 8.0),
        ("leaf", "threshold_gap", "leaf_1", "lock", 850, 5.1),
        ("leaf", "side_gap", "leaf_1", "top", 2000, 4.4),
        ("leaf", "side_gap", "leaf_1", "bottom", 100, 3.6),
    ]
    drop, width, height = 3.0, 900, 2050
    rows += diagonals(
        "leaf", "leaf_diagonal", math.hypot(width, height + drop), math.hypot(width, height - drop), "leaf_1"
    )
    for length, needed in zip(FIXING_LENGTHS, FIXING_NEEDED, strict=True):
        for name, count in ((f"fixed {length}", needed), (f"short {length}", max(needed - 1, 1))):
            places = evenly(length, count) if count > 1 else [250.0]
            rows += [(name, "fixing", "head", str(k), None, place) for k, place in enumerate(places, start=1)]
    for (material, colour), gaps in GAPS.items():
        for width_mm, gap in zip(GAP_WIDTHS, gaps, strict=True):
            rows.append((f"{material} {colour} {width_mm}", "perimeter_gap", "head", "", 100, gap - 1))
    rows.append(("pvc-u light 5000", "perimeter_gap", "head", "", 100, 2.0))
    return rows


def install(door: str) -> str:
    word = door.split()
    fixed = word[0] in ("fixed", "short")
    width = float(word[-1]) if fixed or word[-1] in ("1200", "2400", "4000", "5000") else WIDTHS.get(door, 3000)
    material, colour = (word[0], word[1]) if len(word) == 3 and word[1] in ("light", "dark") else ("", "")
    return f"{door},Crew A,2025-03-01,2025-03-02,{width},2100,1,{material},{colour}"


@pytest.fixture(scope="module")
def deviations(tmp_path_factory: pytest.TempPathFactory) -> dict[tuple[str, str], tuple[float, float | None]]:
    """(door, deviation) to (value, uncertainty), through the whole job."""
    folder: Path = tmp_path_factory.mktemp("geometry") / "records"
    folder.mkdir()
    rows = readings()
    doors = [*dict.fromkeys(row[0] for row in rows), "degrees"]
    header = "install_id,crew,fitted_on,handed_over_on,width_mm,height_mm,leaves,material,colour"
    (folder / "installs.csv").write_text("\n".join([header, *map(install, doors)]) + "\n")
    lines = [",".join("" if part is None else str(part) for part in (*row, "mm")) for row in rows]
    lines.append("degrees,jamb_edge,left_jamb,,2100,0.1,deg")
    (folder / "readings.csv").write_text(
        "\n".join(["install_id,measure,member,station,position_mm,value,unit", *lines]) + "\n"
    )
    run_firm(folder, folder.parent / "out", Silence())
    with duckdb.connect(str(folder.parent / "out" / "results.duckdb"), read_only=True) as results:
        found = results.execute("select install_id, deviation, value, uncertainty from deviations").fetchall()
    return {(door, name): (value, uncertainty) for door, name, value, uncertainty in found}


def test_racking_from_diagonals(deviations):
    assert deviations["racked", "frame_racking"][0] == pytest.approx(3.39, abs=0.005)
    assert deviations["racked", "frame_diagonal_difference"][0] == 6


@pytest.mark.parametrize(
    ("name", "misclosure"), [("planar", 0.0), ("rounded", -0.19), ("misread diagonal", 11.1), ("misread head", 9.8)]
)
def test_six_lengths_that_do_not_close(deviations, name, misclosure):
    value, uncertainty = deviations[name, "tape_misclosure"]
    assert value == pytest.approx(misclosure, abs=0.05 if abs(misclosure) > 1 else 0.005)
    # The widths of this file are written to the whole millimetre, jambs and diagonals to a thousandth: only the error
    # of sill and head weighs, each with sensitivity 1.
    assert uncertainty == pytest.approx(math.sqrt(2 / 12), rel=0.01)


def test_sill_from_staff_readings(deviations):
    assert deviations["sill", "sill_level_error"][0] == pytest.approx(1.71, abs=0.005)
    assert deviations["sill", "sill_chord_bow"][0] == pytest.approx(3.0, abs=0.005)
    assert deviations["sill", "sill_bow"][0] == pytest.approx(1.86, abs=0.005)


def test_plumb_of_a_jamb(deviations):
    assert deviations["plumb", "jamb_plumb_error"][0] == pytest.approx(2.6)


def test_twist_is_the_difference_of_the_leans(deviations):
    assert deviations["twist", "jamb_twist"][0] == pytest.approx(5.0)
    assert deviations["twist", "jamb_lean_out"][0] == pytest.approx(3.5)


def test_head_against_sill(deviations):
    assert deviations["head", "head_parallel_error"][0] == pytest.approx(3.5)
    assert deviations["head", "head_bow"][0] == pytest.approx(0.5, abs=0.05)


def test_drop_of_a_leaf_splits_into_rotation_and_racking(deviations):
    assert deviations["leaf", "leaf_drop"][0] == pytest.approx(3.6)
    assert deviations["leaf", "leaf_drop_rotation"][0] == pytest.approx(0.38, abs=0.005)
    assert deviations["leaf", "leaf_drop_racking"][0] == pytest.approx(3.22, abs=0.005)
    assert deviations["leaf", "gap_taper"][0] == pytest.approx(2.9)


def test_a_leaf_that_drops_three_millimetres_shows_in_its_diagonals(deviations):
    assert deviations["leaf", "leaf_diagonal_difference"][0] == pytest.approx(5.49, abs=0.005)


@pytest.mark.parametrize(("length", "needed"), list(zip(FIXING_LENGTHS, FIXING_NEEDED, strict=True)))
def test_fixings_needed_along_a_member(deviations, length, needed):
    # 600 mm centres at most, 150 to 250 mm from the corner, two at least: NHBC Standards 6.7.11
    assert deviations[f"fixed {length}", "fixing_shortfall"][0] == 0
    assert deviations[f"short {length}", "fixing_shortfall"][0] == 1
    spacing = deviations[f"fixed {length}", "fixing_spacing"][0]
    assert spacing == pytest.approx((length - 500) / (needed - 1))
    assert deviations[f"fixed {length}", "fixing_corner_distance"][0] == pytest.approx(250)


@pytest.mark.parametrize("finish", list(GAPS))
@pytest.mark.parametrize("width", GAP_WIDTHS)
def test_perimeter_gap_of_the_table(deviations, finish, width):
    # a new-home warranty body's article "Gaps around windows, sealants and finishing trims"
    assert deviations[f"{finish[0]} {finish[1]} {width}", "perimeter_gap_shortfall"][0] == pytest.approx(1)


def test_a_door_wider_than_the_table_is_not_judged_by_it(deviations):
    assert deviations["pvc-u light 5000", "perimeter_gap_shortfall"][0] is None


def test_a_lean_in_degrees_is_a_slope(deviations):
    # 0.1 degree is 1.745 mm per metre
    assert deviations["degrees", "jamb_plumb_error"][0] == pytest.approx(2100 * math.tan(math.radians(0.1)))

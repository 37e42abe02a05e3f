"""What the sheets ask for: everything the catalogue can work out, with the limits that hold, a firm's own too."""

from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import polars as pl

from pipeline.catalogue import load_catalogue
from pipeline.sheets.door import Door, door_of
from pipeline.sheets.groups import Reading, Step
from pipeline.sheets.plan import steps_of

TODAY = date(2026, 2, 2)
DOOR = door_of(4200, 2100, 4)
# A door without a fault, mm: lengths of a true rectangle, equal gaps, everything level and plumb.
IDEAL = {
    "aperture_width": 4220, "aperture_height": 2115, "aperture_diagonal": 4720.4, "frame_width": 4200,
    "frame_height": 2100, "frame_diagonal": 4695.7, "sill_height": 10, "sill_line": 0, "sill_tilt": 1, "jamb_edge": 20,
    "jamb_face": 20, "clear_height": 2010, "perimeter_gap": 10, "head_gap": 5, "threshold_gap": 6, "side_gap": 4,
    "hinge_packers": 1, "leaf_diagonal": 2240, "seal_compression": 2, "running_force": 30, "temperature": 15,
}  # fmt: skip


def steps(door: Door = DOOR, firm: dict[str, Any] | None = None) -> tuple[Step, ...]:
    return steps_of(door, load_catalogue(firm), TODAY)


def readings(of: tuple[Step, ...]) -> dict[str, Reading]:
    return {reading.words: reading for step in of for reading in step.readings}


def filled(of: tuple[Step, ...]) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Every line filled in for the ideal door, fixings and packers as planned: readings and checks."""
    read = [
        ("D1", reading.measure, place.member, place.station, place.position,
         float(IDEAL.get(reading.measure, place.planned or 0)), reading.unit)
        for step in of for reading in step.readings for place in reading.places
    ]  # fmt: skip
    seen = [("D1", check.check, member, "pass") for step in of for check in step.checks for member in check.members]
    columns = ["install_id", "measure", "member", "station", "position_mm", "value", "unit"]
    checks = pl.DataFrame(seen, schema=["install_id", "check", "member", "outcome"], orient="row")
    return pl.DataFrame(read, schema=columns, orient="row", infer_schema_length=None), checks


def test_a_filled_sheet_gives_every_deviation_and_settles_every_limit(run_model: Callable[..., Any]) -> None:
    read, seen = filled(steps())
    installs = """
        install_id | crew  | fitted_on  | width_mm | height_mm | leaves | material  | colour
        D1         | Alder | 2026-02-02 | 4200     | 2100      | 4      | aluminium | light
    """
    given = {"installs": installs, "readings": read, "checks": seen}
    found = run_model("deviations", **given).frame
    wanted = {row.name for row in load_catalogue().deviations}
    assert set(found.filter(pl.col("value").is_not_null())["deviation"]) == wanted
    decided = run_model("limit_decisions", **given).frame
    assert decided.filter(pl.col("decision") != "within").is_empty()
    assert decided.height >= 20


def test_the_steps_stand_in_the_order_of_the_work() -> None:
    assert [step.name for step in steps()] == [
        "survey", "sill", "frame", "hanging", "glazing", "adjustment", "sealing", "handover",
    ]  # fmt: skip


def test_each_limit_is_that_of_the_size_with_its_source() -> None:
    level = {
        width: readings(steps(door_of(width, 2100, 3)))["height of the sill over a datum"] for width in (2400, 6000)
    }
    assert [level[width].limits[0].words for width in level] == [
        "sill level: at most 2.4 mm",
        "sill level: at most 3 mm",
    ]
    assert all(limit.source for reading in readings(steps()).values() for limit in reading.limits)


def test_beyond_the_table_of_gaps_the_sheet_says_so() -> None:
    """New-home warranty article on gaps around windows: its table ends at 4.5 m."""
    words = {width: readings(steps(door_of(width, 2100, 4)))["gap between frame and wall"] for width in (4500, 4501)}
    assert "dark pvc-u 11 mm" in words[4500].limits[0].words
    assert words[4501].limits[0].words == "no published gap for so wide a door: ask the maker"
    assert words[4501].rule is not None
    assert words[4501].rule.low is None


def test_a_firm_finds_its_own_measures_checks_and_limits() -> None:
    firm = {
        "measure": [{"name": "bolt_throw", "unit": "mm"}],
        "check": [{"name": "ventilation_shown", "step": "handover"}],
        "deviation": [
            {"name": "bolt_short", "step": "handover", "measure": "bolt_throw", "how": "min", "unit": "mm"},
        ],
        "limit": [
            {"name": "bolt throw", "deviation": "bolt_short", "low": 12.0, "source": "own instruction"},
            {"name": "our sill level", "deviation": "sill_level_error", "high": 2.0},
        ],
    }  # fmt: skip
    made = steps(firm=firm)
    own = readings(made)["bolt throw"]
    assert [limit.words for limit in own.limits] == ["bolt throw: at least 12 mm"]
    assert own.rule is not None
    assert (own.rule.how, own.rule.low) == ("each", 12.0)
    assert own in made[-1].readings
    assert "ventilation_shown" in [seen.check for seen in made[-1].checks]
    sill = readings(made)["height of the sill over a datum"]
    assert sill.limits[0].words == "our sill level: at most 2 mm"
    assert "sill level: at most 3 mm" not in [limit.words for limit in sill.limits]


def test_the_cautions_stand_where_the_danger_is() -> None:
    said = {step.name: step.caution for step in steps()}
    assert "drilling" in said["sill"]
    assert "height" in said["frame"]
    assert "heavy" in said["hanging"]


def test_a_sheet_of_a_firm_is_written_from_its_folder(tmp_path: Path) -> None:
    from pipeline.sheets.write import write_sheets

    text = 'firm = "Example Doors"\n[[limit]]\nname = "our bow"\ndeviation = "sill_bow"\nhigh = 1.5\n'
    (tmp_path / "fitback.toml").write_text(text, encoding="utf-8")
    page = write_sheets(DOOR, tmp_path / "out", "", tmp_path).page.read_text("utf-8")
    assert "Example Doors" in page
    assert "our bow: at most 1.5 mm" in page


def test_a_limit_of_nothing_at_all_says_never() -> None:
    tilt = readings(steps())["fall of the sill across its depth, + to the outside"]
    assert [limit.words for limit in tilt.limits] == ["sill falls to the inside: never"]

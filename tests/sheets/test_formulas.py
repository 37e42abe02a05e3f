"""The checks in the cells say what the limits say. They are worked out here by a small reader of the formulas."""

import re
from datetime import date
from pathlib import Path
from statistics import linear_regression
from typing import Any

import pytest
from openpyxl import load_workbook
from openpyxl.worksheet.worksheet import Worksheet

from pipeline.catalogue import load_catalogue
from pipeline.sheets.door import door_of
from pipeline.sheets.plan import steps_of
from pipeline.sheets.workbooks import write_checks, write_readings


@pytest.fixture(scope="module")
def sheet(tmp_path_factory: pytest.TempPathFactory) -> Worksheet:
    path = tmp_path_factory.mktemp("sheets") / "readings.xlsx"
    write_readings(path, steps_of(door_of(4200, 2100, 4), load_catalogue(), date(2026, 1, 1)), "D-0042")
    return load_workbook(path).active


def rows_of(sheet: Worksheet, measure: str, member: str | None = None) -> list[int]:
    """The rows of a measure, in order. D and E: measure and member."""
    return [
        row
        for row in range(2, sheet.max_row + 1)
        if sheet[f"D{row}"].value == measure and member in (None, sheet[f"E{row}"].value)
    ]


def in_python(formula: str) -> str:
    """IF(a,b,c) as b if a else c, which like a spreadsheet works out one of the two; all else stays as it is."""
    if not formula.startswith("IF("):
        return formula
    parts, depth, start = [], 0, 3
    for place, sign in enumerate(formula):
        depth += {"(": 1, ")": -1}.get(sign, 0)
        if (sign == "," and depth == 1) or depth == 0 < place - 2:
            parts.append(formula[start:place])
            start = place + 1
    condition, then, other = (in_python(part) for part in parts)
    return f"(({then}) if ({condition}) else ({other}))"


def warns(sheet: Worksheet, written: dict[int, float | str], row: int) -> bool:
    """Whether the check of the value in a row warns, with these values written."""
    (check,) = [one for one in sheet.data_validations.dataValidation if f"H{row}" in one.cells]
    assert (check.type, check.errorStyle, check.allowBlank) == ("custom", "warning", True)

    def cell(name: str) -> Any:
        return written.get(int(name[1:])) if name[0] == "H" else sheet[name].value

    def flat(given: tuple[Any, ...]) -> list[float]:
        items = [one for part in given for one in (part if isinstance(part, list) else [part])]
        return [one for one in items if isinstance(one, int | float)]

    def span(column: str, first: str, last: str) -> list[Any]:
        return [cell(f"{column}{row}") for row in range(int(first), int(last) + 1)]

    text = re.sub(r"\$([A-Z])\$(\d+):\$[A-Z]\$(\d+)", r"SPAN('\1','\2','\3')", check.formula1)
    text = re.sub(r"\b([A-Z]\d+)\b", r"CELL('\1')", text)
    names = {
        "TRUE": True, "FALSE": False, "SPAN": span, "CELL": cell, "AND": lambda *parts: all(parts), "ABS": abs,
        "ISNUMBER": lambda one: isinstance(one, int | float), "COUNT": lambda *parts: len(flat(parts)),
        "MAX": lambda *parts: max(flat(parts)), "MIN": lambda *parts: min(flat(parts)),
        "SLOPE": lambda values, places: linear_regression(places, values).slope,
    }  # fmt: skip
    return not eval(in_python(text), {"__builtins__": {}}, names)  # our own formula, rewritten above


@pytest.mark.parametrize(
    ("measure", "member", "values", "is_out"),
    [
        ("sill_height", None, [0, 0.3, 0.6, 1, 1.4, 1.7, 2, 2.4, 2.7], False),  # 2.7 mm from end to end
        ("sill_height", None, [0, 0.5, 1, 1.5, 2, 2.5, 3, 3.5, 4], True),  # 4 mm, at most 3
        ("sill_tilt", None, [1, 0, 2], False),
        ("sill_tilt", None, [-1, 1, 1], True),  # falls to the inside
        ("frame_diagonal", None, [4695, 4698], False),
        ("frame_diagonal", None, [4695, 4699], True),  # 4 mm, at most 3
        ("jamb_face", "right_jamb", [20, 21, 22.5], False),
        ("jamb_face", "right_jamb", [20, 22, 24], True),  # 4 mm, at most 3
        ("clear_height", None, [2098, 2097, 2096, 2095, 2095], False),
        ("clear_height", None, [2098, 2097, 2096, 2095, 2094], True),  # 4 mm, at most 3
        ("fixing", "left_jamb", [200, 766, 1333, 1900], False),
        ("fixing", "left_jamb", [200, 800, 1400, 2000], False),  # exactly 600
        ("threshold_gap", "leaf_2", [5, 7], False),
        ("threshold_gap", "leaf_2", [5, 7.5], True),  # 2.5 mm, at most 2
        ("leaf_diagonal", "leaf_4", [2240, 2243], True),  # 3 mm, at most 2
        ("hinge_packers", "leaf_1", [5, 1, 1], True),  # at most 4
    ],
)
def test_a_cell_warns_exactly_where_the_limit_is_passed(
    sheet: Worksheet, measure: str, member: str | None, values: list[float], is_out: bool
) -> None:
    rows = rows_of(sheet, measure, member)
    assert len(rows) == len(values)
    assert warns(sheet, dict(zip(rows, values, strict=True)), rows[0]) is is_out


def test_a_fixing_too_far_from_the_one_before_warns(sheet: Worksheet) -> None:
    rows = rows_of(sheet, "fixing", "head")
    written: dict[int, float | str] = dict(zip(rows, [200, 742, 1343], strict=False))
    assert [warns(sheet, written, row) for row in rows[:3]] == [False, False, True]  # 542 mm, then 601


@pytest.mark.parametrize("measure", ["sill_height", "frame_diagonal", "fixing", "threshold_gap", "jamb_edge"])
def test_the_first_of_several_readings_is_not_warned_of(sheet: Worksheet, measure: str) -> None:
    row = rows_of(sheet, measure)[0]
    assert warns(sheet, {row: 5.0}, row) is False


def test_a_word_where_a_number_belongs_warns(sheet: Worksheet) -> None:
    row = rows_of(sheet, "temperature")[0]
    assert warns(sheet, {row: "mild"}, row)
    assert not warns(sheet, {row: 12}, row)


def test_every_value_has_a_check_and_says_where_to_read(sheet: Worksheet) -> None:
    lines = [row for row in range(2, sheet.max_row + 1) if sheet[f"D{row}"].value]
    checks = {str(one.cells): one for one in sheet.data_validations.dataValidation if one.type == "custom"}
    assert set(checks) == {f"H{row}" for row in lines}
    assert all(one.prompt and len(one.prompt) <= 255 and len(one.promptTitle) <= 32 for one in checks.values())
    assert all(len(one.formula1) <= 255 and len(one.error) <= 225 for one in checks.values())


def test_nothing_is_protected_and_the_header_stays(sheet: Worksheet) -> None:
    assert sheet.freeze_panes == "A2"
    assert not sheet.protection.sheet


def test_outcomes_are_chosen_from_the_closed_words(tmp_path: Path) -> None:
    catalogue = load_catalogue()
    path = tmp_path / "checks.xlsx"
    n_checks = write_checks(path, steps_of(door_of(4200, 2100, 4), catalogue, date(2026, 1, 1)), catalogue, "")
    sheet = load_workbook(path).active
    (offer,) = [one for one in sheet.data_validations.dataValidation if one.type == "list"]
    assert offer.formula1 == '"pass,fail,not_applicable"'
    column = next(cell.column_letter for cell in sheet[1] if cell.value == "outcome")
    lines = [row for row in range(2, sheet.max_row + 1) if sheet[f"A{row}"].value]
    assert all(f"{column}{row}" in offer.cells for row in lines)
    assert len(lines) == n_checks == sum(4 if check.per_leaf else 1 for check in catalogue.checks)

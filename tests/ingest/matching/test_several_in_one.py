"""Several readings in one cell, all invented. How firms write so is common practice, no source."""

import pytest

from pipeline.errors import UserError
from pipeline.ingest.declared.mapping_tables import parse_mapping
from pipeline.ingest.matching.readings.several_in_one import named_together
from pipeline.ingest.matching.sheet.several_numbers import numbers_in
from tests.ingest.matching.test_match import day, matched, write_sheets

HEADS = ["Job", "Crew", "Fitted", "Width mm", "Height mm", "Cill L/C/R", "Diags BL-TR / TL-BR"]
READINGS = "SELECT install_id, measure, station, position_mm, value FROM readings ORDER BY ALL"


def door(number, sill, diagonals):
    return [f"G-{number}", "Elm", day(number), 3000, 2100, sill, diagonals]


@pytest.mark.parametrize(
    ("heading", "named"),
    [
        ("Sill (L / C / R) mm", ("Sill L mm", "Sill C mm", "Sill R mm")),
        ("Sill left end / middle / right end", ("Sill left end", "Sill middle", "Sill right end")),
        ("Leaf 1 head gap H/L", ("Leaf 1 head gap H", "Leaf 1 head gap L")),
        ("Clear height L / M / R", ("Clear height L", "Clear height middle", "Clear height R")),
        ("Size W x H", ()),
        ("Site / phase", ()),
        ("Jamb plumb L/R", ()),
    ],
)
def test_a_heading_that_names_several_places_of_one_measure(heading, named):
    assert (
        tuple(" ".join(text.replace("(", " ").replace(")", " ").split()) for text in named_together(heading)) == named
    )


@pytest.mark.parametrize(
    ("cell", "numbers"),
    [
        ("0 / -1 / +2", ("0", "-1", "+2")),
        ("0/-1/2", ("0", "-1", "2")),
        ("0; -1,5; 2", ("0", "-1,5", "2")),
        ("0, -1.5, 2 mm", ("0mm", "-1.5mm", "2mm")),
        ("0 -1 +2", ("0", "-1", "+2")),
        ("1/8 / 0 / 1/4", ("1/8", "0", "1/4")),
        ("0 / ok / 2", ("0", "ok", "2")),
        ("0 /  / 2", ("0", "", "2")),
        ("0 / -1", None),
        ("0 / 1 / 2 / 3", None),
        ("see photo / 1 / 2", None),
    ],
)
def test_the_numbers_of_a_cell(cell, numbers):
    assert numbers_in(cell, 3) == numbers


def test_readings_in_one_cell_are_each_a_reading(empty_firm):
    rows = [HEADS, door(1, "0 / -1 / +2", "3662 / 3660"), door(2, "1 / 0 / -1", "3661/3664"), door(3, "ok", "")]
    write_sheets(empty_firm.folder / "doors.xlsx", {"Doors": rows})
    one = matched(empty_firm, "doors.xlsx")
    assert one.n_placed == one.n_headings == 7
    empty_firm.take_in()
    expected = [
        (f"G-{number}", "sill_height", station, place, value)
        for number, values in ((1, (-0.0, -1, 2)), (2, (1, 0, -1)), (3, (None, None, None)))
        for station, place, value in zip(("left", "centre", "right"), (0, 1500, 3000), values, strict=True)
    ]
    expected += [
        (f"G-{number}", "frame_diagonal", station, None, value)
        for number, values in ((1, (3662, 3660)), (2, (3661, 3664)))
        for station, value in zip(("rising", "falling"), values, strict=True)
    ]
    assert sorted(empty_firm.ask(READINGS), key=repr) == sorted(((*one,) for one in expected), key=repr)
    assert empty_firm.account("readings") == (13, 13, 0, 0)


def test_a_cell_with_another_number_of_readings_is_set_aside(empty_firm):
    rows = [HEADS, *(door(number, "0 / -1 / +2", "3662 / 3660") for number in range(1, 11))]
    write_sheets(empty_firm.folder / "doors.xlsx", {"Doors": [*rows, door(11, "0 / 2", "3662 / 3661")]})
    matched(empty_firm, "doors.xlsx")
    empty_firm.take_in()
    assert empty_firm.account("readings") == (55, 52, 3, 0)


def test_pairs_that_may_be_parts_of_an_inch_are_left_to_a_person(empty_firm):
    heads = ["Job", "Crew", "Fitted", "Width mm", "Height mm", "Sill L/R"]
    rows = [[f"G-{number}", "Elm", day(number), 3000, 2100, f"{number}/4"] for number in (1, 2, 3)]
    write_sheets(empty_firm.folder / "doors.xlsx", {"Doors": [heads, *rows]})
    assert "readings" not in matched(empty_firm, "doors.xlsx").proposals[0].columns


def test_the_same_by_hand(empty_firm):
    empty_firm.write("book.csv", "Ref,Who,When,Levels\nG-1,Elm,2025-02-03,0 / -1\nG-2,Elm,2025-02-04,2 / 0\n")
    empty_firm.write(
        "fitback.toml",
        """
        [[sheet]]
        file = "book.csv"
        [sheet.installs]
        install_id = "Ref"
        crew = "Who"
        fitted_on = "When"
        [sheet.readings]
        install_id = "Ref"
        unit = { always = "mm" }
        each = [
          { column = "Levels", part = 1, measure = "sill_height", station = "left" },
          { column = "Levels", part = 2, measure = "sill_height", station = "right", sign = "-" },
        ]
        """,
    )
    empty_firm.take_in()
    asked = "SELECT install_id, station, value FROM readings ORDER BY ALL"
    assert empty_firm.ask(asked) == [("G-1", "left", 0), ("G-1", "right", 1), ("G-2", "left", 2), ("G-2", "right", 0)]


@pytest.mark.parametrize(
    ("each", "said"),
    [
        (
            [{"column": "Levels", "part": 1}, {"column": "Levels", "part": 1}],
            "'levels' stands twice in each with part = 1",
        ),
        ([{"column": "Levels", "part": 1}, {"column": "Levels"}], "'levels' stands in each with part and without"),
        ([{"column": "Levels", "part": "first"}], "part = 'first' must be a whole number from 1"),
    ],
)
def test_parts_that_cannot_be_meant(each, said):
    readings = {"install_id": "Ref", "unit": "Unit", "measure": "What", "each": each}
    with pytest.raises(UserError, match=said):
        parse_mapping([{"file": "book.csv", "readings": readings}])


def test_labels_and_their_readings_in_one_cell_of_a_form(empty_firm):
    def form(number):
        return [
            ["COMPLETION FORM"],
            [f"Job no: G-{number}", None, "Fitters: Elm"],
            ["Date fitted: 13/02/2025", None, "Frame width: 3000 mm"],
            [],
            ["Sill level (mm, + is high)", "Left: 0", "Centre: -1", f"Right: {number}"],
            ["Frame diagonals (mm)", f"BL-TR: {3660 + number}", "TL-BR: 3661"],
        ]

    write_sheets(empty_firm.folder / "forms.xlsx", {f"G-{number}": form(number) for number in (1, 2)})
    matched(empty_firm, "forms.xlsx")
    empty_firm.take_in()
    asked = "SELECT measure, station, value FROM readings WHERE install_id = 'G-2' ORDER BY ALL"
    assert empty_firm.ask(asked) == [
        ("frame_diagonal", "falling", 3661),
        ("frame_diagonal", "rising", 3662),
        ("sill_height", "centre", -1),
        ("sill_height", "left", 0),
        ("sill_height", "right", 2),
    ]


def test_a_cell_of_another_kind_among_them_is_set_aside_and_spoils_none(empty_firm):
    rows = [HEADS, door(1, "0 / -1 / +2", ""), door(2, "1/0/0", ""), door(3, "3 L", ""), door(4, "0 / 1 / 1", "")]
    write_sheets(empty_firm.folder / "doors.xlsx", {"Doors": rows})
    matched(empty_firm, "doors.xlsx")
    empty_firm.take_in()
    assert empty_firm.ask("SELECT install_id, count(*) FROM readings GROUP BY 1 ORDER BY 1") == [
        ("G-1", 3), ("G-2", 3), ("G-4", 3),
    ]  # fmt: skip
    assert set(empty_firm.ask('SELECT DISTINCT "value" FROM rejections')) == {("3 L",)}

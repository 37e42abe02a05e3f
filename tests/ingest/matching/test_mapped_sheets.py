"""A firm's own sheets, read by the mapping in fitback.toml: every value from its cell, nothing guessed."""

from datetime import datetime

import openpyxl
import pytest

from pipeline.errors import UserError
from pipeline.ingest.declared.mapping_tables import read_mapping
from pipeline.ingest.declared.said_outcomes import with_known_outcomes
from pipeline.ingest.files.unread import unread_lines
from pipeline.ingest.texts.words import outcome_words
from pipeline.settings import load_settings

MAPPING = """
[[sheet]]
file = "site sheets*"
header_rows = 1
fill_down = ["Team"]
ignore = ["Remarks"]

[sheet.installs]
install_id = "Door ref"
crew = "Team"
fitted_on = "Date fitted"
width_mm = { column = "Width", unit = "m" }

[sheet.readings]
install_id = "Door ref"
share_of = { column = "Width", unit = "m" }
each = [
  { column = "Sill L", measure = "sill_height", station = "left", share = 0.0, unit = "mm" },
  { column = "Sill R", measure = "sill_height", station = "right", share = 1.0, unit = "mm" },
  { column = "Hd gap 1H", measure = "head_gap", member = "leaf_1", station = "hinge", unit = "cm" },
]

[sheet.checks]
install_id = "Door ref"
each = [{ column = "T&H", check = "toe_and_heel", member = "leaf_1" }]
"""
HEADINGS = ["Door ref", "Team", "Date fitted", "Width", "Sill L", "Sill R", "Hd gap 1H", "T&H", "Remarks"]
ROWS = [
    ["D1", "Alder", "2025-01-10", 4.2, 12, 13.5, 0.5, "pass", "tidy"],
    ["D2", None, "2025-01-11", 3, None, 2, 0.4, "fail", None],
    ["Total", None, None, 7.2, 12, 15.5, 0.9, None, None],
    ["D3", "Birch", "2025-01-12", None, 1, 2, None, None, None],
    ["3 doors", None, None, 10.2, None, None, None, None, "Total width 10.2"],
]


def test_words_of_checks_hold_for_a_list_of_items_as_for_columns(empty_firm):
    """Before, they were passed over beside `item`, and the firm's marks were set aside."""
    empty_firm.write("installs.csv", "install_id,crew,fitted_on\nD1,Ash,2025-01-10\n")
    empty_firm.write("list.csv", "Door,What,Seen\nD1,Track,in order\nD1,Covers,to do\n")
    empty_firm.write(
        "fitback.toml",
        """
[[sheet]]
file = "list.csv"
[sheet.checks]
install_id = "Door"
outcome = "Seen"
item = "What"
words = { "in order" = "pass", "to do" = "fail" }
each = [{ item = "Track", check = "track_clean" }, { item = "Covers", check = "covers_replaced" }]
""",
    )
    empty_firm.take_in()
    assert empty_firm.ask('SELECT "check", outcome FROM checks ORDER BY 1') == [
        ("covers_replaced", "fail"),
        ("track_clean", "pass"),
    ]


def write_sheet(path, rows, title="Jan"):
    workbook = openpyxl.Workbook()
    sheet = workbook.active
    sheet.title = title
    for row in rows:
        sheet.append(row)
    workbook.save(path)


@pytest.fixture
def own_firm(empty_firm):
    empty_firm.write("fitback.toml", MAPPING)
    write_sheet(empty_firm.folder / "site sheets 2025-01.xlsx", [["Invented Doors"], [], HEADINGS, *ROWS])
    return empty_firm


def test_a_wide_sheet_becomes_doors_readings_and_checks(own_firm):
    intake = own_firm.take_in()
    assert own_firm.ask("SELECT install_id, crew, fitted_on::TEXT, width_mm FROM installs ORDER BY 1") == [
        ("D1", "Alder", "2025-01-10", 4200.0),
        ("D2", "Alder", "2025-01-11", 3000.0),
        ("D3", "Birch", "2025-01-12", None),
    ]
    assert own_firm.ask(
        "SELECT install_id, measure, member, station, position_mm, value FROM readings ORDER BY 1, 2, 4"
    ) == [
        ("D1", "head_gap", "leaf_1", "hinge", None, 5.0),
        ("D1", "sill_height", "sill", "left", 0.0, 12.0),
        ("D1", "sill_height", "sill", "right", 4200.0, 13.5),
        ("D2", "head_gap", "leaf_1", "hinge", None, 4.0),
        ("D2", "sill_height", "sill", "right", 3000.0, 2.0),
        ("D3", "sill_height", "sill", "left", None, 1.0),
        ("D3", "sill_height", "sill", "right", None, 2.0),
    ]
    assert own_firm.ask("SELECT install_id, outcome FROM checks ORDER BY 1") == [("D1", "pass"), ("D2", "fail")]
    assert own_firm.account("readings") == (7, 7, 0, 0)
    assert any("rows 6, 8 passed over: totals" in note for note in intake.notes)


def test_every_value_can_be_followed_to_its_cell(own_firm):
    own_firm.take_in()
    assert own_firm.ask(
        'SELECT file, sheet, "row", "column", value FROM readings_history WHERE install_id = \'D2\' ORDER BY 4'
    ) == [
        ("site sheets 2025-01.xlsx", "Jan", 5, "Hd gap 1H", 4.0),
        ("site sheets 2025-01.xlsx", "Jan", 5, "Sill R", 2.0),
    ]


def test_what_is_set_aside_names_the_firms_own_heading(own_firm):
    rows = [HEADINGS, ["D1", "Alder", "soon", 4.2, "lots", 13.5, None, "perhaps", None], ROWS[1]]
    write_sheet(own_firm.folder / "site sheets 2025-01.xlsx", rows)
    own_firm.take_in()
    found = {(row, column, value) for _, row, column, value, scope in own_firm.set_aside()}
    assert (2, "Date fitted", "soon") in found
    assert (2, "Sill L", "lots") in found
    assert (2, "T&H", "perhaps") in found


def test_next_month_is_taken_in_by_the_same_mapping(own_firm):
    own_firm.take_in()
    more = [["D9", "Birch", datetime(2025, 2, 3), 2.5, 0, 1, None, "pass", None]]
    write_sheet(own_firm.folder / "site sheets 2025-02.xlsx", [[], ["February"], HEADINGS, *more], "Feb")
    own_firm.take_in()
    assert own_firm.ask("SELECT fitted_on::TEXT, width_mm FROM installs WHERE install_id = 'D9'") == [
        ("2025-02-03", 2500.0)
    ]


def test_a_changed_heading_is_refused_by_its_old_and_new_name(own_firm):
    own_firm.take_in()
    headings = ["Sill left" if name == "Sill L" else name for name in HEADINGS]
    write_sheet(own_firm.folder / "site sheets 2025-02.xlsx", [headings, *ROWS])
    own_firm.take_in()
    reasons = own_firm.reasons()
    assert any("the heading 'Sill L' is gone, and 'Sill left' stands there" in reason for reason in reasons)
    assert own_firm.ask("SELECT DISTINCT file FROM readings_history") == [("site sheets 2025-01.xlsx",)]


def test_a_new_column_is_noted(own_firm):
    headings, rows = [*HEADINGS, "Van"], [[*row, "7"] for row in ROWS]
    write_sheet(own_firm.folder / "site sheets 2025-01.xlsx", [headings, *rows])
    _, told = unread_lines(own_firm.take_in().unread)
    assert "site sheets 2025-01.xlsx, sheet Jan: 'Van': new, the mapping does not know it; name it in" in told


def test_a_corrected_mapping_reads_the_file_again_and_takes_out_what_it_no_longer_makes(own_firm):
    own_firm.take_in()
    own_firm.write("fitback.toml", MAPPING.split("[sheet.checks]")[0].replace('unit = "cm"', 'unit = "mm"'))
    own_firm.take_in()
    assert own_firm.ask("SELECT value FROM readings WHERE measure = 'head_gap' ORDER BY 1") == [(0.4,), (0.5,)]
    assert own_firm.ask("FROM checks") == []
    assert own_firm.ask("SELECT count(*) FROM readings_history WHERE superseded") == [(0,)]


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ('[[sheet]]\nfile = "a"\n', "it makes no record"),
        ('[[sheet]]\nfile = "a"\nfil_down = []\n', "did you mean fill_down?"),
        ('[[sheet]]\nfile = "a"\nleave_out = ["Sales"]\n[sheet.crews]\ncrew = "Team"\n', "leave_out must be a table"),
        ('[[sheet]]\nfile = "a"\n[sheet.crews]\ncrw = "Team"\n', "did you mean crew or crew_no?"),
        ('[[sheet]]\nfile = "a"\n[sheet.installs]\ncrew = "Team"\n', "install_id is missing"),
        ('[[sheet]]\nfile = "a"\n[sheet.checks]\noutcome = { marks = "OK" }\n', "marks must be a table"),
        ('[[sheet]]\nfile = "a"\n[sheet.crews]\ncrew = { column = "x", always = "y" }\n', "exactly one of"),
    ],
)
def test_a_mapping_that_cannot_be_meant_is_one_sentence(empty_firm, wrong, told):
    empty_firm.write("fitback.toml", wrong)
    with pytest.raises(UserError, match=r"fitback\.toml") as error:
        read_mapping(empty_firm.folder)
    assert told in str(error.value)


CHECKS_OF = '[[sheet]]\nfile = "a"\n[sheet.checks]\ninstall_id = "Door"\n'


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ('words = { "V" = "perhaps" }\neach = [{ column = "T", check = "toe_and_heel" }]', "words: 'perhaps' is not"),
        ('each = [{ column = "T", check = "toe_and_heel", outcome = "maybe" }]', "outcome: 'maybe' is not"),
        ('check = "What"\noutcome = { marks = { "OK" = "fine by me" } }', "marks: 'fine by me' is not"),
        (
            'check = "What"\noutcome = { marks = 3 }',
            'marks must be a table such as { "OK" = "pass", "Not OK" = "fail" }',
        ),
    ],
)
def test_an_outcome_that_a_table_says_and_nobody_knows_is_told_of_the_table_not_of_every_row(empty_firm, wrong, told):
    empty_firm.write("fitback.toml", CHECKS_OF + wrong)
    with pytest.raises(UserError, match=r"^fitback\.toml, \[\[sheet\]\] 1 \(a\), checks") as error:
        empty_firm.take_in()
    assert told in str(error.value)


def test_an_outcome_of_a_table_may_be_written_as_in_a_cell(empty_firm):
    spelt = '[[spelling]]\ntext = "fine by me"\nmeans = "pass"\n'
    wanted = 'check = "What"\noutcome = { marks = { "OK" = "fine by me", "Not OK" = "no" } }'
    empty_firm.write("fitback.toml", spelt + CHECKS_OF + wanted)
    maps = read_mapping(empty_firm.folder)
    assert with_known_outcomes(maps, outcome_words(load_settings(empty_firm.folder)[1])) == maps

"""`fitback match` on messy sheets of invented firms: what it finds without help, and what it leaves to a person."""

import tomllib
from datetime import datetime, timedelta

import openpyxl
import pytest

from pipeline.errors import UserError
from pipeline.ingest.matching.match import match_files
from pipeline.ingest.matching.sheet.grid import Grid
from pipeline.ingest.matching.sheet.headings import heads_at
from pipeline.ingest.matching.workbooks.file_patterns import pattern_of
from tests.ingest.matching.test_mapped_sheets import write_sheet


def day(number):
    return datetime(2025, 1, 6) + timedelta(days=number)


def matched(firm, name):
    """Matches one file of the firm; what was found in it."""
    return match_files([firm.folder / name], is_terminal=False).matched[0]


def share_placed(one):
    return one.n_placed / one.n_headings


def add_doors(firm, ids):
    rows = "\n".join(f"{door},Alder,2025-01-10" for door in ids)
    firm.write("installs.csv", f"install_id,crew,fitted_on\n{rows}\n")


def test_blocks_with_titles_repeated_headings_and_subtotals_in_a_csv(empty_firm):
    heads = (
        "Door number;Installer;Install dt;Width;Height;Sill @ 0;Sill @ 900;Diag up;Diag down;P1 Hd H;P1 Th L;Locks ok"
    )
    rows = [f"K{number};{{crew}};{number + 14}/02/2025;3,6;2,1;0;1,5;4166;4168;3;5;yes" for number in range(1, 5)]
    block = "\n".join(["{crew}", heads, *rows, "Sub-total;;;14,4", ""])
    text = block.format(crew="Alder") + "\n" + block.replace("K", "M").format(crew="Birch")
    empty_firm.write("weekly wk 12.csv", text)
    one = matched(empty_firm, "weekly wk 12.csv")
    assert share_placed(one) == 1.0
    empty_firm.take_in()
    assert empty_firm.set_aside() == []
    assert empty_firm.ask(
        "SELECT crew, fitted_on::TEXT, width_mm, height_mm FROM installs WHERE install_id = 'M1'"
    ) == [("Birch", "2025-02-15", 3600.0, 2100.0)]
    assert empty_firm.ask(
        "SELECT measure, member, station, position_mm, value FROM readings WHERE install_id = 'K4' ORDER BY 1, 3, 4"
    ) == [
        ("frame_diagonal", None, "falling", None, 4168.0),
        ("frame_diagonal", None, "rising", None, 4166.0),
        ("head_gap", "leaf_1", "hinge", None, 3.0),
        ("sill_height", "sill", None, 0.0, 0.0),
        ("sill_height", "sill", None, 900.0, 1.5),
        ("threshold_gap", "leaf_1", "lock", None, 5.0),
    ]
    assert empty_firm.account("installs") == (8, 8, 0, 0)


def test_a_service_log_beside_training_and_tools_in_one_workbook(empty_firm):
    add_doors(empty_firm, ["N1", "N2"])
    log = [["Snag no", "Door ID", "Order no.", "Client name", "Site address", "PC", "Rec'd", "Attended", "Engineer",
            "Symptom", "Type of fault", "Resp.", "Labour hrs", "Total £"]]  # fmt: skip
    log += [
        [n, f"N{n}", f"J{n}", "Mx", "1 Example St", "ZZ9", day(60 + n), day(63), "Kit", "Drops", "dropped_leaf",
         "installation", 2, 95.5] for n in (1, 2)]  # fmt: skip
    workbook = openpyxl.Workbook()
    for name, rows in {
        "Log": log,
        "Courses": [["Crew name", "Subject", "Course date", "Length (hrs)"], ["Alder", "hanging", day(2), 3]],
        "Gauges": [["Tool", "Type", "Max error", "Unit", "Calibrated"], ["tape 1", "tape", 1.0, "mm", day(1)]],
    }.items():
        sheet = workbook.create_sheet(name)
        for row in rows:
            sheet.append(row)
    workbook.save(empty_firm.folder / "service.xlsx")
    one = matched(empty_firm, "service.xlsx")
    assert one.n_headings - one.n_placed == 1  # the engineer has no place in the records
    empty_firm.take_in()
    assert empty_firm.set_aside() == []
    assert empty_firm.ask(
        "SELECT callback_id, install_id, job_no, reported_on::TEXT, fault, hours, cost FROM callbacks"
    ) == [
        ("1", "N1", "J1", "2025-03-08", "dropped_leaf", 2.0, 95.5),
        ("2", "N2", "J2", "2025-03-09", "dropped_leaf", 2.0, 95.5),
    ]
    assert empty_firm.people("SELECT DISTINCT address, note FROM callback_people") == [("1 Example St", "Drops")]
    assert empty_firm.ask("SELECT crew, step, hours FROM training") == [("Alder", "hanging", 3.0)]
    assert empty_firm.ask("SELECT instrument, max_error FROM instruments") == [("tape 1", 1.0)]


def test_a_row_for_each_reading_with_its_leaf_and_end_in_columns(empty_firm):
    add_doors(empty_firm, ["N1"])
    heads = ["Doorset ref", "What measured", "Leaf", "End", "Value (cm)", "Gauge", "Date taken"]
    rows = [
        ["N1", "Head gap", 1, "hinge", 0.3, "gauge 1", day(1)],
        ["N1", "Bottom gap", 2, "lock", 0.55, "gauge 1", day(1)],
    ]
    write_sheet(empty_firm.folder / "points.xlsx", [heads, *rows])
    assert share_placed(matched(empty_firm, "points.xlsx")) == 1.0
    empty_firm.take_in()
    assert empty_firm.ask(
        "SELECT measure, member, station, value, instrument, read_on::TEXT FROM readings ORDER BY 1"
    ) == [
        ("head_gap", "leaf_1", "hinge", 3.0, "gauge 1", "2025-01-07"),
        ("threshold_gap", "leaf_2", "lock", 5.5, "gauge 1", "2025-01-07"),
    ]


def test_facts_above_a_table_of_one_doors_readings(empty_firm):
    rows = [["Door ref: D7", None, "Team", "Alder"], ["Date fitted", day(3)], [], ["Leaf", "Top gap H", "Top gap L"]]
    write_sheet(empty_firm.folder / "one door.xlsx", [*rows, [1, 3, 3.5], [2, 4, 4.5]])
    matched(empty_firm, "one door.xlsx")
    empty_firm.take_in()
    assert empty_firm.ask("SELECT install_id, crew, fitted_on::TEXT FROM installs") == [("D7", "Alder", "2025-01-09")]
    assert empty_firm.ask("SELECT member, station, value FROM readings ORDER BY 1, 2") == [
        ("leaf_1", "hinge", 3.0), ("leaf_1", "lock", 3.5), ("leaf_2", "hinge", 4.0), ("leaf_2", "lock", 4.5)
    ]  # fmt: skip


def test_a_form_keeps_the_cell_of_every_value(empty_firm):
    form = [
        ["Door ref:", "Q1", None, "Fitter:", "Alder"],
        ["Fitting date:", day(1), None, "Client:", "Mx Invented"],
        [],
        ["Measurement", "Left", "Right"],
        ["Sill level", 1, 1.5],
        ["Clear height", 2050, 2051],
        [],
        ["Check", "Result"],
        ["Toe and heel leaf 1", "pass"],
    ]
    write_sheets(
        empty_firm.folder / "checklists.xlsx",
        {"Door 1": form, "Door 2": [["Door ref:", "Q2", *form[0][2:]], *form[1:]]},
    )
    assert matched(empty_firm, "checklists.xlsx").proposals[0].is_form
    empty_firm.take_in()
    assert empty_firm.set_aside() == []
    assert empty_firm.ask(
        'SELECT sheet, "row", "column", value FROM readings_history WHERE install_id = \'Q2\' ORDER BY 2, 3'
    ) == [
        ("Door 2", 5, "Sill level / Left", 1.0),
        ("Door 2", 5, "Sill level / Right", 1.5),
        ("Door 2", 6, "Clear height / Left", 2050.0),
        ("Door 2", 6, "Clear height / Right", 2051.0),
    ]
    assert "Mx Invented" not in (empty_firm.folder / "fitback.toml").read_text()


def test_a_label_of_a_form_that_changed_refuses_the_file(empty_firm):
    form = [
        ["Door ref:", "Q1"],
        ["Fitter:", "Alder"],
        ["Fitting date:", day(1)],
        ["Sill level left", 1],
        ["Sill level right", 2],
    ]
    write_sheets(empty_firm.folder / "forms 1.xlsx", {"a": form, "b": [["Door ref:", "Q2"], *form[1:]]})
    matched(empty_firm, "forms 1.xlsx")
    changed = [["Door ref:", "Q3"], *form[1:3], ["Sill height left hand", 1], form[4]]
    write_sheets(empty_firm.folder / "forms 2.xlsx", {"a": changed})
    empty_firm.take_in()
    assert empty_firm.ask("SELECT install_id FROM installs ORDER BY 1") == [("Q1",), ("Q2",)]
    assert any("the heading 'Sill level left' is gone" in reason for reason in empty_firm.reasons())


def test_headings_that_toml_or_a_terminal_would_stumble_over(empty_firm):
    heads = ['Door "ref"', "Team\n(crew)", "Date fitted", "Width (mm)", 'Sill L = [x] # "q"', "C:\\new"]
    write_sheet(empty_firm.folder / "odd 'name'.xlsx", [heads, ["D1", "Alder", day(1), 4200, 1, "a"]])
    matched(empty_firm, "odd 'name'.xlsx")
    empty_firm.take_in()
    assert empty_firm.ask("SELECT install_id, crew, width_mm FROM installs") == [("D1", "Alder", 4200.0)]


WIDE = [["Door ref", "Team", "Date fitted", "Width", "Leaf 1 head gap hinge"], ["D1", "Alder", day(1), 4200, 3]]


def write_sheets(path, sheets, merges=()):
    """A workbook of sheets by name; merges: (sheet, area)."""
    workbook = openpyxl.Workbook()
    workbook.remove(workbook.active)
    for name, rows in sheets.items():
        sheet = workbook.create_sheet(name)
        for row in rows:
            sheet.append(row)
    for name, area in merges:
        workbook[name].merge_cells(area)
    workbook.save(path)


def without_crew(rows):
    return [[row[0], *row[2:]] for row in rows]


def test_sheets_named_after_crews_say_the_crew(empty_firm):
    birch = [WIDE[0], ["D2", *WIDE[1][1:]]]
    write_sheets(empty_firm.folder / "book.xlsx", {"Alder": without_crew(WIDE), "Birch": without_crew(birch)})
    matched(empty_firm, "book.xlsx")
    empty_firm.take_in()
    assert empty_firm.ask("SELECT install_id, crew FROM installs ORDER BY 1") == [("D1", "Alder"), ("D2", "Birch")]


def test_months_are_no_crews(empty_firm):
    march = [WIDE[0], ["D2", *WIDE[1][1:]]]
    write_sheets(empty_firm.folder / "book.xlsx", {"Feb": without_crew(WIDE), "March": without_crew(march)})
    one = matched(empty_firm, "book.xlsx")
    assert [record for proposal in one.proposals for record in proposal.columns] == ["readings"]
    assert "no column is crew" in one.proposals[0].missing[0]


def test_a_size_that_two_units_fit_is_left_to_a_person(empty_firm):
    rows = [WIDE[0], ["D1", "Alder", day(1), 165.4, 3], ["D2", "Alder", day(2), 118.1, 3]]
    write_sheet(empty_firm.folder / "site.xlsx", rows)
    one = matched(empty_firm, "site.xlsx")
    assert [name for proposal in one.proposals for name, _ in proposal.doubts] == ["Width"]
    text = (empty_firm.folder / "fitback.toml").read_text()
    assert '# not sure of "Width": width_mm: its numbers fit' in text
    empty_firm.take_in()
    assert empty_firm.ask("SELECT width_mm FROM installs") == [(None,), (None,)]


def test_sections_over_ticks_are_neither_doors_nor_part_of_the_check(empty_firm):
    add_doors(empty_firm, ["H1"])
    upper = ["Door ref", None, "SILL", None, "FRAME", None]
    lower = [None, "Checked on", "bedded", "end dams", "packers both sides", "drainage"]
    write_sheet(empty_firm.folder / "ticks.xlsx", [upper, lower, ["H1", day(3), "Y", "N", "Y", "Y"]])
    assert share_placed(matched(empty_firm, "ticks.xlsx")) == 1.0
    empty_firm.take_in()
    assert empty_firm.ask('SELECT install_id, "check", outcome FROM checks ORDER BY 2') == [
        ("H1", "drainage_clear", "pass"),
        ("H1", "end_dams_sealed", "fail"),
        ("H1", "packers_both_sides", "pass"),
        ("H1", "sill_bedded", "pass"),
    ]


def test_two_columns_that_say_one_place_are_left_to_a_person(empty_firm):
    heads = [*WIDE[0], "Leaf 1 top gap hinge", "Leaf 1 head gap lock"]
    write_sheet(empty_firm.folder / "site.xlsx", [heads, [*WIDE[1], 4, 5]])
    one = matched(empty_firm, "site.xlsx")
    assert {name for proposal in one.proposals for name, _ in proposal.doubts} == {heads[4], heads[5]}
    assert '  # { column = "Leaf 1 top gap hinge"' in (empty_firm.folder / "fitback.toml").read_text()
    empty_firm.take_in()
    assert empty_firm.ask("SELECT station, value FROM readings") == [("lock", 5.0)]


def test_readings_after_a_visit_are_no_readings_of_the_fitting(empty_firm):
    heads = [*WIDE[0], "Leaf 1 head gap hinge after visit"]
    write_sheet(empty_firm.folder / "site.xlsx", [heads, [*WIDE[1], 9]])
    matched(empty_firm, "site.xlsx")
    empty_firm.take_in()
    assert empty_firm.ask("SELECT value FROM readings") == [(3.0,)]


def test_what_a_person_wrote_into_the_settings_stays(empty_firm):
    before = (
        '# our own remark\nfirm = "Invented Doors"\n\n[[limit]]\nname = "ours"\ndeviation = "sill_bow"\nhigh = 2.0\n'
    )
    empty_firm.write("fitback.toml", before)
    write_sheet(empty_firm.folder / "site.xlsx", WIDE)
    matched(empty_firm, "site.xlsx")
    once = (empty_firm.folder / "fitback.toml").read_text()
    matched(empty_firm, "site.xlsx")
    assert (empty_firm.folder / "fitback.toml").read_text() == once
    assert once.startswith(before)
    assert [table["file"] for table in tomllib.loads(once)["sheet"]] == ["site.xlsx"]


def test_corrections_are_kept_in_a_copy_when_a_file_is_matched_again(empty_firm):
    write_sheet(empty_firm.folder / "site.xlsx", WIDE)
    matched(empty_firm, "site.xlsx")
    path = empty_firm.folder / "fitback.toml"
    corrected = path.read_text().replace('install_id = "Door ref"', 'install_id = "Team"')
    path.write_text(corrected)
    one = matched(empty_firm, "site.xlsx")
    assert one.notes == ["its tables of before were replaced; fitback.toml.before keeps them"]
    assert (empty_firm.folder / "fitback.toml.before").read_text() == corrected


def test_two_layouts_of_one_name_have_a_table_each(empty_firm):
    other = [["Set no", "Fitter", "Installed", "Sill L"], ["E1", "Birch", day(2), 1.5]]
    write_sheet(empty_firm.folder / "site 1.xlsx", WIDE)
    write_sheet(empty_firm.folder / "site 2.xlsx", other)
    match_files([empty_firm.folder / "site 1.xlsx", empty_firm.folder / "site 2.xlsx"], is_terminal=False)
    empty_firm.take_in()
    assert empty_firm.set_aside() == []
    assert empty_firm.ask("SELECT install_id FROM installs ORDER BY 1") == [("D1",), ("E1",)]


def test_a_row_of_sums_without_a_name_is_no_row_of_the_last_door(empty_firm):
    rows = [["Set no", "Fitter", "Installed", "Leaf", "Top gap H", "Top gap L"]]
    for number in range(3):
        rows += [[f"S{number}", "Dell", day(number), 1, 3, 4], [None, None, None, 2, 5, 6]]
    sums = [None, None, None, None, 24, 30]
    write_sheet(empty_firm.folder / "leaves.xlsx", [*rows, sums])
    one = matched(empty_firm, "leaves.xlsx")
    assert any("row 8 passed over: sums of the rows above" in note for note in one.notes)
    empty_firm.take_in()
    assert empty_firm.ask("SELECT count(*), max(value) FROM readings") == [(12, 6.0)]


def test_next_month_needs_no_second_match(empty_firm):
    for month in ("Jan", "Feb"):
        rows = [WIDE[0], [f"{month}1", *WIDE[1][1:]]]
        write_sheet(empty_firm.folder / f"site {month} 2025.xlsx", rows, month)
    matched(empty_firm, "site Jan 2025.xlsx")
    empty_firm.take_in()
    assert empty_firm.ask("SELECT install_id FROM installs ORDER BY 1") == [("Feb1",), ("Jan1",)]


@pytest.mark.parametrize(
    ("name", "pattern"),
    [
        ("site sheets 2025-03.xlsx", "site sheets *.xlsx"),
        ("Jan 25 doors.csv", "* doors.csv"),
        ("weekly wk 12.csv", "weekly *.csv"),
        ("Marvin doors Sept 25.csv", "Marvin doors *.csv"),
        ("crew sheets.xlsx", "crew sheets.xlsx"),
        ("March.xlsx", "March.xlsx"),
        ("doors [new] 7.xlsx", "doors [[]new[]] *.xlsx"),
    ],
)
def test_the_part_of_a_name_that_varies_becomes_a_star(name, pattern):
    assert pattern_of(name) == pattern


def test_a_folder_in_place_of_spreadsheets_is_told_how_to_give_them(empty_firm):
    with pytest.raises(UserError, match=r"is a folder; give the spreadsheets in it, such as .*\*\.xlsx\.$"):
        match_files([empty_firm.folder], is_terminal=False)


@pytest.mark.parametrize("name", ["missing.xlsx", "notes.pdf"])
def test_what_cannot_be_matched_is_one_sentence(empty_firm, name):
    if name == "notes.pdf":
        empty_firm.write(name, "text")
    with pytest.raises(UserError) as error:
        match_files([empty_firm.folder / name], is_terminal=False)
    assert str(error.value).endswith(".")
    assert not (empty_firm.folder / "fitback.toml").exists()


def test_a_canonical_file_needs_no_table(empty_firm):
    add_doors(empty_firm, ["D1"])
    one = matched(empty_firm, "installs.csv")
    assert one.notes == ["installs.csv has the columns of installs already; it is read as it is, without a table"]
    assert not (empty_firm.folder / "fitback.toml").exists()


def test_a_sheet_that_means_nothing_is_told_and_nothing_is_written(empty_firm):
    write_sheet(empty_firm.folder / "recipes.xlsx", [["flour", "sugar"], [1, 2]])
    one = matched(empty_firm, "recipes.xlsx")
    assert one.unread
    assert not (empty_firm.folder / "fitback.toml").exists()


def test_the_only_dates_of_a_sheet_are_the_day_it_must_tell(empty_firm):
    head = "Door ref;Team;Zorbed;W (mm);H (mm);Leaves"
    doors = [f"K{number};Alder;{number + 14}/02/2025;3600;2100;4" for number in range(1, 6)]
    empty_firm.write("list.csv", "\n".join([head, *doors]) + "\n")
    assert share_placed(matched(empty_firm, "list.csv")) == 1.0
    empty_firm.take_in()
    assert empty_firm.ask("SELECT fitted_on::TEXT FROM installs WHERE install_id = 'K5'") == [("2025-02-19",)]


def test_one_of_two_unknown_columns_of_dates_is_left_to_a_person(empty_firm):
    head = "Door ref;Team;Zorbed;Blipped;W (mm);H (mm);Leaves"
    doors = [f"K{number};Alder;{number + 14}/02/2025;{number + 20}/02/2025;3600;2100;4" for number in range(1, 6)]
    empty_firm.write("list.csv", "\n".join([head, *doors]) + "\n")
    one = matched(empty_firm, "list.csv")
    left = "what was found of it stands as a comment in fitback.toml: complete it there and take the # away"
    assert one.unread == [("list.csv", f"installs cannot be made: no column is fitted_on; {left}")]


def test_a_title_merged_wider_than_the_part_of_a_sheet_it_stands_in_is_read():
    grid = Grid("form", [["Sill", None], ["Left", "Right"]], "1900", merges=[(0, 0, 0, 7), (0, 5, 1, 6)])
    assert heads_at(grid, 0, 2).written == ("Sill / Left", "Sill / Right")


def test_a_sheet_that_waits_for_its_first_row_is_said_to(empty_firm):
    write_sheets(empty_firm.folder / "book.xlsx", {"2024": WIDE, "2025": [["Doors 2025"], WIDE[0]], "Notes": [["a"]]})
    one = matched(empty_firm, "book.xlsx")
    assert one.unread == [
        ("2025", "it has headings and no row under them yet"), ("Notes", "no row of it reads as headings"),
    ]  # fmt: skip

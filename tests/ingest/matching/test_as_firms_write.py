"""Layouts and marks as fitting firms keep them, all invented: what `fitback match` makes of each, and what it leaves.

How such sheets look is common practice, no source.
"""

import pytest

from pipeline.catalogue import load_catalogue
from pipeline.ingest.matching.columns.durations import unit_of_duration
from pipeline.ingest.matching.columns.evidence import look_at
from pipeline.ingest.matching.match import match_files
from pipeline.ingest.matching.sheet.two_in_one import part_of_cell
from pipeline.ingest.matching.words.crosses import meaning_of_x
from pipeline.ingest.matching.words.heading_units import split_unit
from pipeline.ingest.matching.words.meaning import reading_meaning
from pipeline.ingest.matching.words.vocabulary import words_of
from tests.ingest.matching.test_match import add_doors, day, matched, write_sheets


def test_names_of_groups_over_the_headings_are_no_label_of_the_door(empty_firm):
    heads = ["Contract No", "Team", "W (mm)", "H (mm)", "Panels", "Survey", "Fitted", "Value"]
    groups = ["JOB", None, "DOOR SET", None, None, "DATES", None, None]
    rows = [[f"C{n}", "Ash", 3000 + n, 2100, 4, day(n), day(20 + n), 5000 - n] for n in range(1, 5)]
    areas = [("Jobs", area) for area in ("A2:B2", "C2:E2", "F2:G2")]
    write_sheets(empty_firm.folder / "jobs.xlsx", {"Jobs": [["Fits"], groups, heads, *rows]}, areas)
    matched(empty_firm, "jobs.xlsx")
    empty_firm.take_in()
    assert empty_firm.ask("SELECT install_id, width_mm FROM installs ORDER BY 1")[0] == ("C1", 3001.0)
    assert empty_firm.set_aside() == []


def test_width_and_height_in_one_cell(empty_firm):
    rows = [f"D{n},{n + 14}/02/2025,Ash,{size}" for n, size in ((1, "4000 x 2100"), (2, "3600mm X 2150mm"))]
    empty_firm.write("fits.csv", "\n".join(["Door no,Fitted,Team,Size", *rows]))
    assert matched(empty_firm, "fits.csv").n_placed == 4
    empty_firm.take_in()
    assert empty_firm.ask("SELECT width_mm, height_mm FROM installs ORDER BY install_id") == [
        (4000, 2100),
        (3600, 2150),
    ]


def test_sizes_in_one_cell_each_in_its_own_unit(empty_firm):
    sizes = ["2.95 x 2.08m", "5150 x 2110", "389cm x 212cm"]
    rows = [f"D{n},{n + 14}/02/2025,Ash,{size}" for n, size in enumerate([*sizes, "1850x2105", "1.9 x 2.1m"])]
    empty_firm.write("fits.csv", "\n".join(["Door no,Fitted,Team,WxH", *rows]))
    assert matched(empty_firm, "fits.csv").n_placed == 4
    empty_firm.take_in()
    found = empty_firm.ask("SELECT width_mm, height_mm FROM installs ORDER BY install_id")
    assert found == [(2950, 2080), (5150, 2110), (3890, 2120), (1850, 2105), (1900, 2100)]


@pytest.mark.parametrize(
    ("cell", "parts"),
    [
        ("4000 x 2100", ("4000", "2100")),
        ("4000w x 2100h x 70", ("4000", "2100")),
        ("4.2×2.1 m", ("4.2m", "2.1 m")),
        ('126 x 83 1/2"', ('126"', '83 1/2"')),
        ("3900mm*2050", ("3900mm", "2050")),
    ],
)
def test_two_numbers_in_a_cell(cell, parts):
    assert (part_of_cell(cell, 1), part_of_cell(cell, 2)) == parts


def test_a_cell_that_is_no_pair_stays_whole_to_be_seen():
    assert part_of_cell("see drawing", 2) == "see drawing"


def test_what_and_where_in_two_columns_say_together_what_was_read(empty_firm):
    add_doors(empty_firm, ["52010", "52011"])
    rows = ["15/01/2025,52010,Head gap,Door 1 hinge side,3.5,mm", ",,Floor gap,Door 2 lock side,5,mm"]
    rows += [",,Sill level,Centre,-1,mm", ",,Frame diagonal,TL to BR,4195,mm", "16/01/2025,52011,Sill level,Left,0,mm"]
    empty_firm.write("log.csv", "\n".join(["Date,Job,What measured,Where,Reading,Units", *rows]))
    matched(empty_firm, "log.csv")
    empty_firm.take_in()
    assert empty_firm.ask(
        "SELECT measure, member, station, value FROM readings WHERE install_id = '52010' ORDER BY 1"
    ) == [
        ("frame_diagonal", None, "falling", 4195.0),
        ("head_gap", "leaf_1", "hinge", 3.5),
        ("sill_height", "sill", "centre", -1.0),
        ("threshold_gap", "leaf_2", "lock", 5.0),
    ]


def test_checks_down_the_side_with_a_door_in_every_column(empty_firm):
    add_doors(empty_firm, ["J501", "J502", "J503", "J504"])
    rows = [["Check", "Stage", "J501", "J502", "J503", "J504"], ["Drain holes clear", "Frame", "✓", "✗", "✓", "✓"]]
    rows += [["Track clean", "End", "✓", "✓", "✓", "✓"], ["Locks work", "Adjust", "✗", "✓", "✓", "✓"]]
    rows += [["Covers on", "End", "✓", "✓", "✓", "✓"]]
    write_sheets(empty_firm.folder / "qa.xlsx", {"Matrix": rows})
    matched(empty_firm, "qa.xlsx")
    empty_firm.take_in()
    assert empty_firm.ask("SELECT install_id, \"check\" FROM checks WHERE outcome = 'fail' ORDER BY 1") == [
        ("J501", "locks_operate"),
        ("J502", "drainage_clear"),
    ]


def test_a_box_for_each_outcome_in_forms(empty_firm):
    def form(door, marks):
        rows = [[f"Door ref: {door}"], [f"Fitted by: Ash {door}"], [f"Date fitted: 2{door[1]}/02/2025"], []]
        items = zip(("Drain slots clear", "Track swept clean", "Locks operate"), marks, strict=True)
        return [
            *rows,
            ["Item", "Not OK", "OK", "N/A"],
            *([item, *("x" if n == at else None for n in range(3))] for item, at in items),
        ]

    write_sheets(empty_firm.folder / "forms.xlsx", {"D1": form("D1", (1, 1, 0)), "D2": form("D2", (1, 2, 1))})
    matched(empty_firm, "forms.xlsx")
    empty_firm.take_in()
    assert empty_firm.ask('SELECT install_id, "check", outcome FROM checks ORDER BY ALL') == [
        ("D1", "drainage_clear", "pass"),
        ("D1", "locks_operate", "fail"),
        ("D1", "track_clean", "pass"),
        ("D2", "drainage_clear", "pass"),
        ("D2", "locks_operate", "pass"),
        ("D2", "track_clean", "not_applicable"),
    ]


def test_the_days_of_all_forms_tell_which_part_is_the_month(empty_firm):
    forms = {
        f"F{n}": [["Door ref", f"F{n}"], ["Fitters", "Ash"], ["Date fitted", f"{n:02d}/02/2025"]] for n in (3, 11, 25)
    }
    write_sheets(empty_firm.folder / "forms.xlsx", forms)
    matched(empty_firm, "forms.xlsx")
    empty_firm.take_in()
    assert empty_firm.ask("SELECT fitted_on::TEXT FROM installs ORDER BY 1") == [
        ("2025-02-03",),
        ("2025-02-11",),
        ("2025-02-25",),
    ]


@pytest.mark.parametrize(
    ("columns", "meant"),
    [
        ([["✓", "x"], ["✓", "✓"]], "fail"),
        ([["x", "no"]], "pass"),
        ([["X", "X", ""], ["X", "", "X"]], "pass"),
        ([["X", "", ""], ["", "", "X"]], None),
        ([["X", "yes", "no"]], None),
        ([["yes", "no"]], None),
    ],
)
def test_what_an_x_means_is_told_by_the_other_marks(columns, meant):
    found = meaning_of_x(columns, load_catalogue())
    assert (found and found[0]) == meant


def test_minutes_are_never_taken_for_hours():
    assert unit_of_duration("mins on site", None) == ("min", "")
    assert unit_of_duration("labour hrs", look_at(["90", "120"])) == (None, "")
    assert "may be minutes" in unit_of_duration("time on site", look_at(["45", "90", "30"]))[1]


def test_rows_of_leaves_and_of_members_whatever_their_column_is_called(empty_firm):
    add_doors(empty_firm, ["SO1", "SO2"])
    leaves = [["SO no.", "#", "Top gap hinge", "Diag /", "Diag \\", "T&H"]]
    leaves += [[door if n == 1 else None, n, 3 + n, 2300, 2301, "y"] for door in ("SO1", "SO2") for n in (1, 2)]
    members = [["Job", "Side", "Fix 1", "Fix 2"]]
    members += [[door, side, 200, 800] for door in ("SO1", "SO2") for side in ("LH jamb", "Cill")]
    write_sheets(empty_firm.folder / "qc.xlsx", {"Leaves": leaves, "Fixings": members})
    matched(empty_firm, "qc.xlsx")
    empty_firm.take_in()
    assert empty_firm.set_aside() == []
    found = empty_firm.ask("SELECT measure, member, station, value FROM readings WHERE install_id = 'SO1' ORDER BY ALL")
    assert ("head_gap", "leaf_2", "hinge", 5.0) in found
    assert ("leaf_diagonal", "leaf_1", "rising", 2300.0) in found
    assert ("fixing", "left_jamb", "2", 800.0) in found
    assert ("fixing", "sill", "1", 200.0) in found


def test_a_service_register_is_no_list_of_doors(empty_firm):
    add_doors(empty_firm, ["J4400", "J4401", "J4402", "J4403"])
    heads = "Job card,Orig. job,Cust.,Rec'd,Done,Tech,Complaint,Category,Mins on site,$ cost"
    rows = [
        f"R{n},J440{n % 3},Mx {n},{n + 12}/03/2025,{n + 14}/03/2025,Kit,will not lock at all,Roller,90,45"
        for n in range(4)
    ]
    empty_firm.write("register.csv", "\n".join([heads, *rows]))
    matched(empty_firm, "register.csv")
    empty_firm.take_in()
    assert empty_firm.account("installs")[1] == 4
    assert empty_firm.ask("SELECT callback_id, hours, fault FROM callbacks ORDER BY 1")[0] == (
        "R0",
        1.5,
        "roller_damage",
    )


def test_a_matrix_of_training_days(empty_firm):
    add_doors(empty_firm, ["D1"])
    rows = [["Crew", "Survey", "Sill", "Glazing"], ["East", day(1), None, day(3)], ["West", None, day(5), day(6)]]
    write_sheets(empty_firm.folder / "lists.xlsx", {"Matrix": rows})
    matched(empty_firm, "lists.xlsx")
    empty_firm.take_in()
    assert empty_firm.ask("SELECT crew, step, trained_on::TEXT FROM training ORDER BY ALL") == [
        ("East", "glazing", "2025-01-09"),
        ("East", "survey", "2025-01-07"),
        ("West", "glazing", "2025-01-12"),
        ("West", "sill", "2025-01-11"),
    ]


def test_units_in_a_row_under_the_headings(empty_firm):
    rows = ["Fit ref,Fitted by,Fit date,Overall width,Overall height,Glazing", ",,,mm,mm,mm"]
    rows += [f'NB{n},JT,{n} Mar 2025,"3,{n}60","2,1{n}5",28' for n in range(1, 5)]
    empty_firm.write("newbuild.csv", "\n".join(rows))
    assert matched(empty_firm, "newbuild.csv").n_placed == 6
    empty_firm.take_in()
    assert empty_firm.set_aside() == []
    assert empty_firm.ask("SELECT width_mm, height_mm FROM installs WHERE install_id = 'NB1'") == [(3160.0, 2115.0)]


def test_cells_of_one_column_never_decide_a_unit_that_others_of_the_measure_contradict(empty_firm):
    add_doors(empty_firm, ["B1", "B2"])
    rows = ["Door,Head gap leaf 1 hinge,Head gap leaf 1 lock,Track clean", "B1,0.55,0.45,yes", "B2,0.6,0.4,yes"]
    empty_firm.write("gaps.csv", "\n".join(rows))
    one = matched(empty_firm, "gaps.csv")
    assert len(one.proposals[0].doubts) == 2
    empty_firm.take_in()
    assert empty_firm.account("checks")[1] == 2
    assert empty_firm.ask("SELECT count(*) FROM readings") == [(0,)]


def test_inches_and_a_fraction_are_no_day():
    assert not look_at(["106 7/8", "94 3/4", "120 1/2"]).are_days


@pytest.mark.parametrize(
    ("heading", "words"),
    [
        ("R.O. Width", ("aperture", "width")),
        ("Diag \\", ("diagonal", "falling")),
        ("Threshold level / 1/2", ("threshold", "level", "centre")),
        ("S/O width", ("aperture", "width")),
        ("Drains/outlets clear", ("drain", "drain", "clear")),
        ("New/old", ("new", "old")),
    ],
)
def test_headings_as_words(heading, words):
    assert words_of(heading) == words


def test_min_in_brackets_is_a_minimum_of_a_gap_and_minutes_of_a_visit():
    assert reading_meaning("Head gap (min)") is None
    assert reading_meaning("Head gap (mm)") is not None
    assert split_unit("Time (min)") == ("Time", "min")


def test_a_bare_m_is_metres_behind_a_length_only():
    assert split_unit("Width m") == ("Width", "m")
    assert split_unit("Sill m") == ("Sill m", None)


def test_doors_are_known_from_a_list_beside(empty_firm):
    add_doors(empty_firm, ["61200", "61201", "61202", "61203"])
    rows = [f"{61203 - n},{n + 10},yes,no" for n in range(4)]
    empty_firm.write("ticks.csv", "\n".join(["Whatsit,Thing,Track clean,Locks ok", *rows]))
    match_files([empty_firm.folder / "ticks.csv"], is_terminal=False)
    empty_firm.take_in()
    assert empty_firm.account("checks") == (8, 8, 0, 0)


def test_a_list_beside_is_known_whichever_sheet_it_is_and_one_that_cannot_be_read_is_no_hindrance(empty_firm):
    doors = [["Install ID", "Crew", "Fitted on"], *([n, "Alder", day(n % 9)] for n in range(61200, 61204))]
    write_sheets(empty_firm.folder / "installs.xlsx", {"Cover": [], "Doors": doors})
    (empty_firm.folder / "installs 2024.xlsx").write_bytes(b"no workbook")
    rows = [f"{61203 - n},{n + 10},yes,no" for n in range(4)]
    empty_firm.write("ticks.csv", "\n".join(["Whatsit,Thing,Track clean,Locks ok", *rows]))
    one = match_files([empty_firm.folder / "ticks.csv"], is_terminal=False).matched[0]
    assert 'install_id = "Whatsit"' in one.text


def test_a_row_for_each_check_with_a_column_for_each_outcome(empty_firm):
    add_doors(empty_firm, ["4821", "4822"])
    rows = ["Job no,Step,Check,OK,Not OK,N/A"]
    items = ("Sill,Joint sealed", "Frame,Drainage clear", "Handover,Track clean")
    for door in ("4821", "4822"):
        marks = zip(items, ("✓,,", ",✓,", ",,✓"), strict=True)
        rows += [f"{door if n == 0 else ''},{item},{mark}" for n, (item, mark) in enumerate(marks)]
    empty_firm.write("done.csv", "\n".join(rows))
    matched(empty_firm, "done.csv")
    empty_firm.take_in()
    assert empty_firm.ask("SELECT \"check\", outcome FROM checks WHERE install_id = '4822' ORDER BY 1") == [
        ("drainage_clear", "fail"),
        ("sill_joint_sealed", "pass"),
        ("track_clean", "not_applicable"),
    ]


def test_cells_that_name_their_unit_beside_others_in_mm(empty_firm):
    rows = [f"D{n},Ash,2{n}/02/2025,{width},2100" for n, width in enumerate(("4200", "4.5 m", "390cm", "3800"))]
    empty_firm.write("fits.csv", "\n".join(["Door no,Team,Fitted,Set width,Set height", *rows]))
    matched(empty_firm, "fits.csv")
    empty_firm.take_in()
    widths = empty_firm.ask("SELECT width_mm FROM installs ORDER BY install_id")
    assert widths == [(4200,), (4500,), (3900,), (3800,)]


def test_a_unit_is_one_of_a_building_where_no_measure_has_it(empty_firm):
    add_doors(empty_firm, ["B-204", "B-205", "B-206"])
    items = ["Weep slots clear", "Mastic complete", "Hinge caps fitted"]
    rows = [
        f"{door},{item},{'Reject' if door[-1] == '5' else 'Accept'},RT,"
        for door in ("B-204", "B-205")
        for item in items
    ]
    empty_firm.write("punch.csv", "\n".join(["Unit,Inspection item,Result,Inspector,Comments", *rows]))
    matched(empty_firm, "punch.csv")
    empty_firm.take_in()
    assert empty_firm.ask("SELECT install_id, outcome, count(*) FROM checks GROUP BY ALL ORDER BY 1") == [
        ("B-204", "pass", 3),
        ("B-205", "fail", 3),
    ]


def test_the_colour_outside_is_the_door_s(empty_firm):
    rows = [f"Z{n},{n + 13}/05/2025,Oak,cream,black" for n in range(1, 5)]
    empty_firm.write("doors.csv", "\n".join(["Door no,Fitted,Team,Colour in,Colour out", *rows]))
    matched(empty_firm, "doors.csv")
    empty_firm.take_in()
    assert empty_firm.ask("SELECT DISTINCT colour FROM installs") == [("dark",)]


def test_a_column_that_only_says_all_was_well_needs_no_unit(empty_firm):
    add_doors(empty_firm, ["Z1", "Z2"])
    rows = [["Z1", 3, "ok"], ["Z2", 4, "OK"]]
    heads = ["Door", "Head gap leaf 1 hinge", "Head gap leaf 1 lock"]
    write_sheets(empty_firm.folder / "gaps.xlsx", {"G": [heads, *rows]})
    assert matched(empty_firm, "gaps.xlsx").n_placed == 3
    empty_firm.take_in()
    assert empty_firm.ask("SELECT count(*), count(value) FROM readings") == [(4, 2)]

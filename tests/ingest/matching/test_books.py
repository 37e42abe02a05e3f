"""Workbooks as a whole: which of their sheets and rows are told as not read.

All invented; how they look is common practice, no source.
"""

import pytest
from openpyxl import load_workbook
from openpyxl.comments import Comment

from pipeline.ingest.matching.match import match_files
from pipeline.terminal import shown
from tests.ingest.matching.test_match import add_doors, day, matched, write_sheets


def test_a_sheet_that_another_record_is_made_of_is_not_told_as_unread(empty_firm) -> None:
    doors = [["Door no", "Team", "Fitted", "Leaves"], ["D1", "Ash", "2025-02-03", 3], ["D2", "Elm", "2025-02-14", 4]]
    calls = [["Ticket", "Door no", "Rang", "Problem"], ["T1", "D1", "2025-05-02", "door dropped and drags"]]
    write_sheets(empty_firm.folder / "Book.xlsx", {"Doors": doors, "Calls": calls, "Ideas": [["new van?"]]})
    match_files([empty_firm.folder / "Book.xlsx"], is_terminal=False)
    empty_firm.take_in()
    told = empty_firm.ask("SELECT record, reason FROM files ORDER BY 1")
    assert [record for record, _ in told] == ["callbacks", "installs"]
    assert told[0][1] is None
    assert "sheet Ideas not read" in told[1][1]
    assert "Calls" not in told[1][1]


def test_totals_of_a_month_are_no_door(empty_firm) -> None:
    rows = ["Door no,Team,Fitted,Leaves,Value", "D1,Ash,2025-02-03,3,4000", "D2,Elm,2025-02-14,4,5000"]
    rows += [",,February total,,9000", "D3,Ash,2025-03-03,3,4000", ",,March total:,,4000", "Team totals,,,7,13000"]
    rows += ["3 doors,,,10,Total leaves 10"]
    empty_firm.write("Book.csv", "\n".join(rows))
    match_files([empty_firm.folder / "Book.csv"], is_terminal=False)
    empty_firm.take_in()
    assert empty_firm.ask("SELECT install_id FROM installs ORDER BY 1") == [("D1",), ("D2",), ("D3",)]
    assert empty_firm.set_aside() == []


LOG = ["Log no,Logged,Type,Job,Name,Details", "L1,03/03/2025,Call-back,D1,Q. Elm,door dropped and drags on the sill"]
LOG += ["L2,14/03/2025,Sales enquiry,,T. Oak,wants a price for four panels", "L3,20/03/2025,Call-back,D2,R. Ash,leak"]
LOG += [
    "L4,21/04/2025,Spares order,D1,Q. Elm,two keys sent by post",
    "L5,22/04/2025,Other,D1,Q. Elm,cold draught",
]


def test_entries_of_a_log_that_are_no_callbacks_are_left_out_and_told(empty_firm) -> None:
    """What no word tells apart (Other) comes in: a kind is left out by name, never by not being known."""
    add_doors(empty_firm, ["D1", "D2"])
    empty_firm.write("desk log.csv", "\n".join(LOG))
    said = match_files([empty_firm.folder / "desk log.csv"], is_terminal=False).sentences
    assert "  rows whose 'Type' is 'Sales enquiry' or 'Spares order' are left out, as no callbacks" in said
    empty_firm.take_in()
    assert empty_firm.ask("SELECT callback_id FROM callbacks ORDER BY 1") == [("L1",), ("L3",), ("L5",)]
    ((reason,),) = empty_firm.ask("SELECT reason FROM files WHERE record = 'callbacks'")
    assert "row 3 passed over: Type is 'Sales enquiry'; row 5 passed over: Type is 'Spares order'" in reason


def test_a_kind_that_may_say_what_a_callback_was_for_leaves_no_row_out(empty_firm) -> None:
    """Installation beside Warranty is whose account it is on, not a new door: every row is a callback."""
    add_doors(empty_firm, ["D1", "D2"])
    rows = ["Ref,Door no,Reported,Type,Responsible,Fault", "C1,D1,2025-03-03,Warranty,maker,Draught"]
    kinds = ("Installation", "Fitting", "Survey", "Delivery", "Supplier", "Out of order")
    rows += [f"C{n},D2,2025-03-0{n},{kind},us,Stiff running" for n, kind in enumerate(kinds, start=2)]
    empty_firm.write("desk log.csv", "\n".join(rows))
    said = match_files([empty_firm.folder / "desk log.csv"], is_terminal=False).sentences
    assert not [line for line in said if "left out" in line]
    empty_firm.take_in()
    assert empty_firm.ask("SELECT count(*) FROM callbacks") == [(7,)]


def test_a_log_whose_column_of_kinds_was_renamed_is_refused(empty_firm) -> None:
    """Without it every sales call would pass for a callback."""
    add_doors(empty_firm, ["D1", "D2"])
    empty_firm.write("desk log.csv", "\n".join(LOG))
    match_files([empty_firm.folder / "desk log.csv"], is_terminal=False)
    empty_firm.write("desk log.csv", "\n".join(LOG).replace("Type", "Sort"))
    empty_firm.take_in()
    ((reason,),) = empty_firm.ask("SELECT reason FROM files WHERE record = 'callbacks'")
    assert "the heading 'Type' is gone, and 'Sort' stands there" in reason


def test_what_is_read_may_stand_once_for_several_rows(empty_firm) -> None:
    add_doors(empty_firm, ["D1", "D2"])
    rows = [["Door no", "Leaf", "What", "End", "Reading", "Unit"], ["D1", 1, "Head gap", "Hinge", 3.5, "mm"]]
    rows += [[None, None, None, "Lock", 4, None], [None, None, "Threshold gap", "Hinge", 5, None]]
    rows += [[None, None, None, "Lock", 4.5, None], [None, 2, "Head gap", "Hinge", 3, None]]
    rows += [[None, None, None, "Lock", 3.5, None], ["D2", 1, "Head gap", "Hinge", 6, "mm"]]
    write_sheets(empty_firm.folder / "gaps.xlsx", {"Gaps": [*rows, [None, None, None, "Lock", 5, None]]})
    match_files([empty_firm.folder / "gaps.xlsx"], is_terminal=False)
    empty_firm.take_in()
    assert empty_firm.set_aside() == []
    found = empty_firm.ask("SELECT measure, member, station, value FROM readings WHERE install_id = 'D1' ORDER BY ALL")
    assert found == [
        ("head_gap", "leaf_1", "hinge", 3.5),
        ("head_gap", "leaf_1", "lock", 4.0),
        ("head_gap", "leaf_2", "hinge", 3.0),
        ("head_gap", "leaf_2", "lock", 3.5),
        ("threshold_gap", "leaf_1", "hinge", 5.0),
        ("threshold_gap", "leaf_1", "lock", 4.5),
    ]


def form_of(door, distances, levels, clear=()):
    rows = [["Job no", door, "Team", "Ash"], ["Date fitted", day(1)], ["Width (mm)", 4200], []]
    rows += [["1. Sill level (mm, + is high)"], ["Distance from left (mm)", *distances], ["Reading", *levels], []]
    return rows + ([["Distance from left", *distances], ["Clear height", *clear]] if clear else [])


def test_readings_in_a_row_under_their_distances_take_each_its_own(empty_firm) -> None:
    """A narrow door has fewer stations than a wide one, and none of the forms is another sheet for that."""
    wide = form_of("D1", [0, 1050, 2100, 4200], [0, -1, 1.5, 2], [2100, 2099, 2098, 2101])
    narrow = form_of("D2", [0, 900, 1800], [0.5, 0, -2], [2050, 2051, 2050])
    write_sheets(empty_firm.folder / "forms.xlsx", {"one": wide, "two": narrow})
    match_files([empty_firm.folder / "forms.xlsx"], is_terminal=False)
    empty_firm.take_in()
    ask = "SELECT position_mm, value FROM readings WHERE install_id = '{}' AND measure = '{}' ORDER BY 1"
    assert empty_firm.ask(ask.format("D1", "sill_height")) == [(0, 0), (1050, -1), (2100, 1.5), (4200, 2)]
    assert empty_firm.ask(ask.format("D2", "sill_height")) == [(0, 0.5), (900, 0), (1800, -2)]
    assert empty_firm.ask(ask.format("D2", "clear_height")) == [(0, 2050), (900, 2051), (1800, 2050)]
    assert empty_firm.set_aside() == []


@pytest.mark.parametrize("label", ["Distance from right (mm)", "Distance from left (cm)", "Bay"])
def test_rows_that_are_not_counted_in_mm_from_the_left_give_no_distance(empty_firm, label) -> None:
    form = form_of("D1", [30, 150, 320], [0, -1, 1.5])
    form[5][0] = label
    write_sheets(empty_firm.folder / "forms.xlsx", {"one": form, "two": [["Job no", "D2", *form[0][2:]], *form[1:]]})
    match_files([empty_firm.folder / "forms.xlsx"], is_terminal=False)
    empty_firm.take_in()
    assert empty_firm.ask("SELECT count(*) FROM readings WHERE position_mm IS NOT NULL") == [(0,)]


def two_lines(door, labels, distances, values):
    facts = [["Plot", door, "Team", "Ash"], ["Installed", day(1)], ["Width (mm)", 4200], []]
    rows = [[label, *cells] for label, cells in zip(labels, (distances, values), strict=True)]
    return [*facts, *rows, [], ["Weeps clear", "yes"]]


@pytest.mark.parametrize(
    "labels",
    [
        ("Cill level, distance from LH end (mm)", "Height above datum (mm)"),
        ("Sill levels - position from left (mm)", "Reading"),
        ("Sill level at (mm from left)", None),
        ("Threshold levels: mm from left", "mm"),
        ("Distance along sill (mm)", "Level (mm)"),
        ("Chainage (mm), sill level", "Value (mm)"),
    ],
)
def test_one_label_says_what_was_read_and_where_over_a_row_of_values(empty_firm, labels) -> None:
    forms = {
        door: two_lines(door, labels, at, (0, -1.5, 2))
        for door, at in [("P1", (60, 2000, 4100)), ("P2", (80, 1900, 4050))]
    }
    write_sheets(empty_firm.folder / "forms.xlsx", forms)
    one = match_files([empty_firm.folder / "forms.xlsx"], is_terminal=False).matched[0]
    assert not any(proposal.others for proposal in one.proposals)
    empty_firm.take_in()
    assert empty_firm.ask("SELECT measure, position_mm, value FROM readings WHERE install_id = 'P2' ORDER BY 2") == [
        ("sill_height", 80, 0), ("sill_height", 1900, -1.5), ("sill_height", 4050, 2),
    ]  # fmt: skip


ALONG = ("Distance along sill (mm)", "Level (mm)")


def test_a_mapping_that_knows_a_row_of_values_by_its_own_label_reads_it_still(empty_firm) -> None:
    write_sheets(empty_firm.folder / "forms.xlsx", {"P1": two_lines("P1", ALONG, (60, 2000), (0, -1.5))})
    match_files([empty_firm.folder / "forms.xlsx"], is_terminal=False)
    settings = empty_firm.folder / "fitback.toml"
    written = settings.read_text(encoding="utf-8")
    assert written.count("sill (mm) / Level (mm) [") == 2
    settings.write_text(written.replace("sill (mm) / Level (mm) [", "Level (mm) ["), encoding="utf-8")
    empty_firm.take_in()
    asked = "SELECT measure, position_mm, value FROM readings ORDER BY 2"
    assert empty_firm.ask(asked) == [("sill_height", 60, 0), ("sill_height", 2000, -1.5)]


def test_the_planes_of_a_jamb_in_rows_under_its_name_and_heights(empty_firm) -> None:
    rows = [["Right jamb plumb, height up jamb (mm)", 150, 1050, 1950], ["In plane", 9, 10, 11], ["In/out", 1, 2, 3]]
    forms = {door: [*two_lines(door, ("", ""), (), ()), [], *rows] for door in ("P1", "P2")}
    write_sheets(empty_firm.folder / "forms.xlsx", forms)
    match_files([empty_firm.folder / "forms.xlsx"], is_terminal=False)
    empty_firm.take_in()
    read = "SELECT measure, member, position_mm, value FROM readings WHERE install_id = 'P1' ORDER BY 1, 3"
    edges, faces = zip((150, 1050, 1950), (9, 10, 11), strict=True), zip((150, 1050, 1950), (1, 2, 3), strict=True)
    assert empty_firm.ask(read) == [
        *(("jamb_edge", "right_jamb", *one) for one in edges),
        *(("jamb_face", "right_jamb", *one) for one in faces),
    ]


@pytest.mark.parametrize(
    ("labels", "values"),
    [
        (("Sill level, distance from right (mm)", "Height above datum (mm)"), (0, -1, 2)),
        (("Sill level, distance from left (cm)", "Reading"), (0, -1, 2)),
        (("Sill level, distance from left (mm)", "Fettle"), (0, -1, 2)),
        (("Clear height from left (mm)", "Reading"), (2101, 2099, 2100)),
    ],
)
def test_two_such_lines_that_are_not_understood_are_named_by_their_labels(empty_firm, labels, values) -> None:
    at = (2098, 2100, 2103) if values[0] > 2000 else (60, 200, 410)
    write_sheets(empty_firm.folder / "forms.xlsx", {door: two_lines(door, labels, at, values) for door in ("P1", "P2")})
    one = match_files([empty_firm.folder / "forms.xlsx"], is_terminal=False).matched[0]
    named = [name for proposal in one.proposals for name in proposal.others]
    assert set(labels) <= set(named)
    assert all(label in one.text for label in labels)
    empty_firm.take_in()
    assert empty_firm.ask("SELECT count(*) FROM readings WHERE position_mm IS NOT NULL") == [(0,)]


def test_no_filled_line_of_a_form_is_passed_over_in_silence(empty_firm) -> None:
    """A value far from its label has no path; what is read, blank or no more than a title is not named."""
    odd = [[], ["Left blank", None], [], ["SHIMS"], ["Spindle torque", None, None, 4], ["Play", 1, None, 2]]
    read = two_lines("P1", ("Chainage (mm)", "Sill level"), (60, 900), (0, 1))
    forms = {door: [[read[0][0], door, *read[0][2:]], *read[1:], *odd] for door in ("P1", "P2")}
    write_sheets(empty_firm.folder / "forms.xlsx", forms)
    one = match_files([empty_firm.folder / "forms.xlsx"], is_terminal=False).matched[0]
    named = [name for proposal in one.proposals for name in proposal.others]
    assert "Spindle torque" in named
    assert not any(text in name for name in named for text in ("Left blank", "Chainage", "Sill", "Plot", "Weeps"))


@pytest.mark.parametrize("width", [80, 120])
def test_on_a_terminal_nothing_is_wider_than_it(empty_firm, monkeypatch, width) -> None:
    """Rows of many columns lie on their side, as many of them as fit; readings, which fit, stand as a table."""
    monkeypatch.setenv("COLUMNS", str(width))
    head = ["Door no", "Team", "Fitted", "Handed over", "W (mm)", "H (mm)", "Leaves", "Material", "Customer", "Address"]
    head += ["Postcode", "System", "Sill L", "Sill R", "Invoice no", "Deposit paid", "Van mileage", "Quoted price"]
    rows = [
        [f"D{n}", "Ash", day(n), day(n + 1), 3000 + n, 2100, 3, "timber", f"Q. Elm {n}", f"{n} Fern Way"]
        for n in range(1, 7)
    ]
    rows = [[*row, "QX1 2AB", "Foldline\n70", n, -1, 7000 + n, "y", 120, 4000] for n, row in enumerate(rows)]
    write_sheets(empty_firm.folder / "jobs.xlsx", {"Jobs": [head, *rows]})
    said = list(shown(match_files([empty_firm.folder / "jobs.xlsx"], is_terminal=True).sentences, width))
    assert all(len(line) <= width or str(empty_firm.folder) in line for line in said)  # a path is never cut
    (product,) = [line for line in said if line.split()[0] == "product"]
    assert product.endswith(" Foldline 70")
    assert product.count("Foldline 70") == {80: 4, 120: 5}[width]
    heads = [line.split() for line in said if line.split()[:2] == ["install_id", "measure"]]
    assert len(heads) == 1
    assert heads[0][-2:] == ["value", "unit"]


def test_what_a_door_came_back_for_stands_in_its_own_row_under_one_heading(empty_firm) -> None:
    """Call back / Complaint reads as the number of a complaint: a sentence is none."""
    over = [None, None, None, None, None, "Call back", None, None]
    heads = ["Door no", "Team", "Leaves", "Fitted on", "Width", "Reported on", "Complaint", "Hours"]
    doors = [[f"D{number}", "Ash", 4, day(number), 3000 + number, None, None, None] for number in range(1, 9)]
    doors[2][5:] = [day(40), "the end leaf has dropped", 2]
    doors[5][5:] = [day(60), "water comes in over the sill", 1.5]
    write_sheets(empty_firm.folder / "log.xlsx", {"Log": [over, heads, *doors]}, merges=[("Log", "F1:H1")])
    match_files([empty_firm.folder / "log.xlsx"], is_terminal=False)
    empty_firm.take_in()
    assert empty_firm.ask("SELECT count(*) FROM installs") == [(8,)]
    assert empty_firm.ask("SELECT install_id, hours FROM callbacks ORDER BY 1") == [("D3", 2.0), ("D6", 1.5)]


def test_cells_under_no_heading_and_hidden_sheets_are_told(empty_firm):
    rows = [["Door", "Crew", "Fitted", "Width mm"], *([f"D{at}", "Elm", day(at), 2700] for at in (1, 2, 3))]
    rows[2].append("re-packed in March, sill was 5 low")
    write_sheets(
        empty_firm.folder / "doors.xlsx",
        {"Doors": rows, "Old": [["Door", "Sill"], ["D1", 3]], "Words": [["timber"], ["steel"]]},
    )
    book = load_workbook(empty_firm.folder / "doors.xlsx")
    book["Old"].sheet_state = book["Words"].sheet_state = "hidden"
    book.save(empty_firm.folder / "doors.xlsx")
    told = matched(empty_firm, "doors.xlsx").notes
    assert "Doors: 1 cell under no heading not read: E3" in told
    assert "hidden sheet Old not read; show it in the workbook to read it" in told
    notes = " ".join(empty_firm.take_in().notes)
    assert "1 cell under no heading not read: E3" in notes
    assert "hidden sheet Old not read" in notes


@pytest.mark.parametrize(("n_comments", "words"), [(1, "the comment on a cell is"), (2, "comments on 2 cells are")])
def test_comments_on_cells_are_told(empty_firm, n_comments, words):
    path = empty_firm.folder / "doors.xlsx"
    write_sheets(path, {"Doors": [["Door", "Crew", "Fitted"], *([f"D{at}", "Elm", day(at)] for at in (1, 2, 3))]})
    assert not [note for note in matched(empty_firm, "doors.xlsx").notes if "comment" in note]
    book = load_workbook(path)
    for row in range(2, 2 + n_comments):
        book["Doors"].cell(row, 3).comment = Comment("not before noon", "a fitter")
    book.save(path)
    told = f"{words} not read; what should count needs a cell of its own"
    assert told in matched(empty_firm, "doors.xlsx").notes
    assert told in " ".join(empty_firm.take_in().notes)


def test_comments_on_cells_of_a_canonical_workbook_are_told(empty_firm):
    path = empty_firm.folder / "installs.xlsx"
    write_sheets(path, {"installs": [["install_id", "crew", "fitted_on"], ["D1", "Elm", day(1)]]})
    book = load_workbook(path)
    book["installs"]["C2"].comment = Comment("not before noon", "a fitter")
    book.save(path)
    assert "the comment on a cell is not read" in " ".join(empty_firm.take_in().notes)


def test_formulas_that_show_no_value_are_told(empty_firm):
    path = empty_firm.folder / "doors.xlsx"
    write_sheets(path, {"Doors": [["Door", "Crew", "Fitted"], *([f"D{at}", "Elm", day(at)] for at in range(1, 7))]})
    assert not [note for note in matched(empty_firm, "doors.xlsx").notes if "read as empty" in note]
    book = load_workbook(path)
    for cell, text in {"B2": "#REF!", "B3": "=Teams!A1", "B4": "#N/A", "D2": "#DIV/0!"}.items():
        book["Doors"][cell] = text
    book.save(path)
    told = [
        "read as empty, since a formula shows an error of the spreadsheet: B2; correct it there",
        "read as empty, since a formula was never worked out: B3; open the file in a spreadsheet and save it",
    ]
    assert [note for note in matched(empty_firm, "doors.xlsx").notes if "read as empty" in note] == told
    notes = " ".join(empty_firm.take_in().notes)
    assert all(one in notes for one in told)


def test_a_formula_without_a_value_is_told_with_its_sheet_and_none_of_a_hidden_one(empty_firm):
    path, doors = (
        empty_firm.folder / "doors.xlsx",
        [["Door", "Crew", "Fitted"], *([f"D{at}", "Elm", day(at)] for at in (1, 2, 3))],
    )
    training = [["Crew", "Step", "Trained on"], *(["Elm", step, day(1)] for step in ("sill", "frame", "hanging"))]
    write_sheets(path, {"Doors": doors, "Training & more": training, "Lists": [["Crew"], ["Elm"]]})
    book = load_workbook(path)
    for name in book.sheetnames:
        book[name]["B3"] = "=1+1"
    book["Lists"].sheet_state = "hidden"
    book.save(path)
    (told,) = [note for note in matched(empty_firm, "doors.xlsx").notes if "read as empty" in note]
    assert "B3 of Doors, B3 of Training & more;" in told


def test_a_cell_beside_a_sheet_on_its_side_is_named_as_it_stands_there(empty_firm):
    rows = [["Door", "D1", "D2", "D3"], ["Crew", "Elm", "Oak", "Elm"], ["Fitted", day(1), day(2), day(3)]]
    rows += [["Width mm", 2400, 2500, 2600], [None, None, "re-packed", None]]
    write_sheets(empty_firm.folder / "doors.xlsx", {"Doors": rows})
    assert "Doors: 1 cell under no heading not read: C5" in matched(empty_firm, "doors.xlsx").notes

"""Lists with several rows a door: which column numbers the doors, and which leaf a row is of."""

from tests.ingest.matching.test_mapped_sheets import write_sheet
from tests.ingest.matching.test_match import day, matched, write_sheets

RANGES = ("Coastal", "Urban")


def register(n):
    heads = ["Job no", "Door", "Installed by", "Date fitted", "Overall width"]
    return [heads, *([f"NI{2310 + k}", RANGES[k % 2], "Alder", day(k + 1), 4200 + k] for k in range(n))]


def leaves(firm, name, cells):
    heads = ["Job no", name, "Head gap hinge", "Head gap lock", "Toe & heel"]
    rows = [[f"NI{2310 + k}", cells[leaf], 3 + leaf, 4 + leaf, "Y"] for k in range(6) for leaf in range(3)]
    write_sheets(firm.folder / "book.xlsx", {"Register": register(12), "Leaves": [heads, *rows]})
    return matched(firm, "book.xlsx")


def test_a_column_of_kinds_of_doors_does_not_number_them(empty_firm):
    write_sheet(empty_firm.folder / "site.xlsx", register(12))
    matched(empty_firm, "site.xlsx")
    empty_firm.take_in()
    assert empty_firm.ask("SELECT count(DISTINCT install_id), min(install_id) FROM installs") == [(12, "NI2310")]


def test_one_of_three_is_the_first_leaf(empty_firm):
    leaves(empty_firm, "Leaf", ["1 of 3", "2 of 3", "3 of 3"])
    empty_firm.take_in()
    found = empty_firm.ask("SELECT member, station, value FROM readings WHERE install_id = 'NI2310' ORDER BY ALL")
    assert found == [(f"leaf_{n}", end, n + 2.0 + (end == "lock")) for n in (1, 2, 3) for end in ("hinge", "lock")]
    assert empty_firm.ask("SELECT DISTINCT member FROM checks ORDER BY 1") == [("leaf_1",), ("leaf_2",), ("leaf_3",)]


def test_rows_of_leaves_that_nothing_numbers_are_left_to_a_person(empty_firm):
    one = leaves(empty_firm, "Position", ["near", "middle", "far"])
    assert {record for proposal in one.proposals for record in proposal.columns} == {"installs"}


def test_a_row_of_limits_under_the_headings_is_no_door_and_newtons_are_no_no(empty_firm):
    heads = ["Job no", "Installed by", "Date fitted", "Overall width", "Push force panel 1", "Push force panel 2"]
    units = [None, None, None, "mm", "N", "N"]
    limits = ["Tolerance", None, None, None, "80 max", "80 max"]
    rows = [[f"NI{2310 + k}", "Alder", day(k + 1), 4200, 45.5, 32] for k in range(6)]
    write_sheet(empty_firm.folder / "site.xlsx", [["Installations"], [], heads, units, limits, *rows])
    matched(empty_firm, "site.xlsx")
    empty_firm.take_in()
    assert empty_firm.ask("SELECT count(*) FROM installs") == [(6,)]
    assert empty_firm.ask("SELECT DISTINCT measure, member, value FROM readings ORDER BY 2") == [
        ("running_force", "leaf_1", 45.5), ("running_force", "leaf_2", 32.0),
    ]  # fmt: skip
    assert empty_firm.set_aside() == []


def test_reasons_that_say_who_is_to_blame_are_no_faults(empty_firm):
    blame = ["Installation", "Manufacturing", "Misuse", "Wear and tear", "Building movement"]
    rows = [[f"C{k}", f"NI{2310 + k}", day(k + 40), "Hard to slide along", blame[k % 5]] for k in range(10)]
    calls = [["Call no", "Job no", "Date called", "Problem", "Reason"], *rows]
    write_sheets(empty_firm.folder / "book.xlsx", {"Doors": register(12), "Calls": calls})
    matched(empty_firm, "book.xlsx")
    empty_firm.take_in()
    found = empty_firm.ask("SELECT DISTINCT responsibility FROM callbacks ORDER BY 1")
    assert found == [("building",), ("installation",), ("product",), ("use",), ("wear",)]
    assert empty_firm.ask("SELECT DISTINCT fault FROM callbacks") == [(None,)]


def test_answers_of_a_list_of_items_are_readings_and_checks(empty_firm):
    items = [("Sill level left (+ high)", 1.5, "mm"), ("Sill level right (+ high)", 0, "mm"),
             ("Rollers seated", "Does not conform", None), ("Locks operate", "Conforms", None)]  # fmt: skip
    heads = ["Form ID", "Door no.", "Inspector", "Inspected at", "Section", "Item", "Answer", "Unit"]
    rows = [[f"F{k}", f"NI{2310 + k}", "TQ", day(k + 1), "Sill", *item] for k in range(6) for item in items]
    write_sheets(empty_firm.folder / "book.xlsx", {"Doors": register(12), "Answers": [heads, *rows]})
    matched(empty_firm, "book.xlsx")
    empty_firm.take_in()
    assert empty_firm.ask('SELECT DISTINCT "check", outcome FROM checks ORDER BY 1') == [
        ("locks_operate", "pass"), ("rollers_seated", "fail"),
    ]  # fmt: skip
    assert empty_firm.ask("SELECT DISTINCT measure, station, value FROM readings ORDER BY 2") == [
        ("sill_height", "left", 1.5), ("sill_height", "right", 0.0),
    ]  # fmt: skip


def test_a_row_for_each_side_of_a_leaf_takes_its_end_from_a_column(empty_firm):
    heads = ["Door ref", "Leaf", "Side", "Head gap", "Threshold gap"]
    rows = [
        [f"NI{2310 + k}", leaf if side == "Hinge" else None, side, 3 + leaf, 4.5 + (side == "Lock")]
        for k in range(6) for leaf in (1, 2) for side in ("Hinge", "Lock")
    ]  # fmt: skip
    write_sheets(empty_firm.folder / "book.xlsx", {"Doors": register(12), "Gaps": [heads, *rows]})
    matched(empty_firm, "book.xlsx")
    empty_firm.take_in()
    found = "SELECT member, station, value FROM readings WHERE install_id = 'NI2310' AND measure = '{}' ORDER BY ALL"
    assert empty_firm.ask(found.format("threshold_gap")) == [
        ("leaf_1", "hinge", 4.5), ("leaf_1", "lock", 5.5), ("leaf_2", "hinge", 4.5), ("leaf_2", "lock", 5.5),
    ]  # fmt: skip
    assert empty_firm.set_aside() == []


def test_a_log_of_calls_is_no_list_of_doors_for_who_went_and_when(empty_firm):
    heads = ["No", "Job", "Customer", "Rang in", "Why", "Who went", "When", "Hours"]
    rows = [
        [k + 1, f"NI{2310 + k % 6}", "A. Dunmere", day(k + 30), "Very hard work to open, mother cannot manage",
         f"Van {k % 3 + 1}", day(k + 35), 0.5]
        for k in range(12)
    ]  # fmt: skip
    write_sheet(empty_firm.folder / "returns.xlsx", [["RETURNS BOOK"], [], heads, *rows])
    one = matched(empty_firm, "returns.xlsx")
    assert {record for proposal in one.proposals for record in proposal.columns} == {"callbacks"}

"""Lists with a row for each reading whose places are left blank: as above, or because there is none.

All invented; how such lists look is common practice, no source.
"""

from tests.ingest.matching.test_match import add_doors, matched, write_sheets

HEADS = ["Door", "Where", "Item", "Result"]
AT_LEAVES = [
    ["Leaf 1 hinge", "Head gap", 4], [None, "Bottom gap", 5], ["Leaf 1 lock", "Head gap", 6], [None, "Bottom gap", 7],
    ["Leaf 2 hinge", "Head gap", 8], [None, "Bottom gap", 9],
]  # fmt: skip
AT_THE_SILL = [["left", "Sill level", 0], ["centre", "Sill level", 1], ["right", "Sill level", 2]]
NOWHERE = [[None, "Air temperature", 12], [None, "Running force leaf 1", 33]]


def readings_of(firm, rows):
    """(measure, member, station, value) of one of two doors with the same rows."""
    add_doors(firm, ["K1", "K2"])
    each = [[door if not number else None, *row] for door in ("K1", "K2") for number, row in enumerate(rows)]
    write_sheets(firm.folder / "list.xlsx", {"Readings": [HEADS, *each]})
    matched(firm, "list.xlsx")
    firm.take_in()
    return firm.ask("SELECT measure, member, station, value FROM readings WHERE install_id = 'K1' ORDER BY ALL")


def test_what_has_no_place_does_not_get_that_of_the_row_above(empty_firm):
    assert readings_of(empty_firm, [*AT_THE_SILL, *NOWHERE]) == [
        ("running_force", "leaf_1", None, 33),
        *(("sill_height", "sill", end, n) for end, n in (("centre", 1), ("left", 0), ("right", 2))),
        ("temperature", None, None, 12),
    ]


def test_what_is_read_at_place_after_place_gets_that_of_the_row_above_and_nothing_else_does(empty_firm):
    found = readings_of(empty_firm, [*AT_LEAVES, *AT_THE_SILL, *NOWHERE])
    assert [one for one in found if one[0] == "threshold_gap"] == [
        ("threshold_gap", "leaf_1", "hinge", 5),
        ("threshold_gap", "leaf_1", "lock", 7),
        ("threshold_gap", "leaf_2", "hinge", 9),
    ]
    assert {("temperature", None, None, 12.0), ("running_force", "leaf_1", None, 33.0)} <= set(found)
    assert len(found) == 11

"""A gap beside a leaf is none over or under it: Hinge side gap, top is a side gap, Top gap, hinge side a head gap."""

import pytest

from pipeline.ingest.matching.words.meaning import SURE, reading_meaning
from tests.ingest.matching.test_match import add_doors, matched, write_sheets


@pytest.mark.parametrize(
    ("heading", "measure", "station"),
    [
        ("Hinge side gap / Top", "side_gap", "top"),
        ("hinge_side_gap_bottom", "side_gap", "bottom"),
        ("Gap at hinge side, bottom", "side_gap", "bottom"),
        ("Side gap hinge top", "side_gap", "top"),
        ("Leaf 2 side gap (hinge side) lower", "side_gap", "bottom"),
        ("Hanging stile gap, top", "side_gap", "top"),
        ("Top gap hinge side", "head_gap", "hinge"),
        ("Top gap at hinge side", "head_gap", "hinge"),
        ("Head gap / Hinge side", "head_gap", "hinge"),
        ("Gap at bottom, lock side", "threshold_gap", "lock"),
    ],
)
def test_what_stands_next_to_the_gap_says_which_it_is(heading, measure, station):
    found = reading_meaning(heading)
    assert found is not None
    assert (found.name, found.place.station) == (measure, station)
    assert found.sure >= SURE


@pytest.mark.parametrize("heading", ["Gap hinge side top", "Lock side gap top", "Gap at closing side, bottom"])
def test_a_gap_that_may_be_over_a_leaf_or_beside_it_is_left_to_a_person(heading):
    found = reading_meaning(heading)
    assert found is None or found.sure < SURE


def test_side_gaps_beside_head_gaps_in_rows_of_leaves(empty_firm):
    add_doors(empty_firm, ["U1", "U2"])
    heads = [["Door", "Leaf", "Head gap", None, "Hinge side gap", None], [None, None, "Hinge", "Lock", "Top", "Bottom"]]
    rows = [[door, leaf, 4.5, 5.0, 3.5, 3 + leaf] for door in ("U1", "U2") for leaf in (1, 2, 3)]
    write_sheets(empty_firm.folder / "r.xlsx", {"R": [*heads, *rows]})
    matched(empty_firm, "r.xlsx")
    empty_firm.take_in()
    read = "SELECT measure, station, value FROM readings WHERE install_id = 'U1' AND member = 'leaf_2' ORDER BY ALL"
    assert empty_firm.ask(read) == [
        ("head_gap", "hinge", 4.5), ("head_gap", "lock", 5.0), ("side_gap", "bottom", 5.0), ("side_gap", "top", 3.5),
    ]  # fmt: skip

"""A list of readings read with the mapping of an earlier one: the leaves that no door had then."""

import pytest

from tests.ingest.matching.test_match import day, matched, write_sheets

HEADS = ["Door", "Item", "Result"]
SILL = {"left": 1.0, "centre": 2.5, "right": 0.5}


def write_list(firm, leaves, item="Leaf {leaf} head gap {end}"):
    """Six doors and their readings, each door with as many leaves."""
    doors = [["Door no", "Team", "Date fitted"], *([f"D{at}", "Elm", day(at)] for at in range(1, 7))]
    rows = []
    for at in range(1, 7):
        rows += [[f"D{at}", f"Sill level {place}", value + at / 2] for place, value in SILL.items()]
        for leaf in range(1, leaves + 1):
            rows += [[f"D{at}", item.format(leaf=leaf, end=end), 4.0 + at / 2 + leaf] for end in ("hinge", "lock")]
            rows.append([f"D{at}", f"Toe and heel leaf {leaf}", "pass" if at % 2 else "fail"])
    write_sheets(firm.folder / "doors.xlsx", {"Doors": doors, "Readings": [HEADS, *rows]})


@pytest.mark.parametrize("item", ["Leaf {leaf} head gap {end}", "L{leaf} head gap {end}", "Head gap leaf {leaf} {end}"])
def test_a_leaf_more_is_read_as_the_leaves_before_it(empty_firm, item):
    write_list(empty_firm, 3, item)
    matched(empty_firm, "doors.xlsx")
    write_list(empty_firm, 5, item)
    empty_firm.take_in()
    further = "install_id = 'D2' AND member IN ('leaf_4', 'leaf_5')"
    asked = f"SELECT member, station, value FROM readings WHERE {further} ORDER BY ALL"
    assert empty_firm.ask(asked) == [
        ("leaf_4", "hinge", 9.0),
        ("leaf_4", "lock", 9.0),
        ("leaf_5", "hinge", 10.0),
        ("leaf_5", "lock", 10.0),
    ]
    assert empty_firm.ask("SELECT DISTINCT member FROM checks WHERE member > 'leaf_3' ORDER BY 1") == [
        ("leaf_4",),
        ("leaf_5",),
    ]
    assert empty_firm.ask("SELECT * FROM rejections") == []


def test_of_one_leaf_alone_no_other_follows(empty_firm):
    write_list(empty_firm, 1)
    matched(empty_firm, "doors.xlsx")
    assert "Leaf 1 head gap hinge" in (text := (empty_firm.folder / "fitback.toml").read_text())
    assert "leaf_2" not in text


def test_what_follows_is_told_as_not_there_yet(empty_firm):
    write_list(empty_firm, 2)
    matched(empty_firm, "doors.xlsx")
    lines = (empty_firm.folder / "fitback.toml").read_text().splitlines()
    third = [line for line in lines if "Leaf 3 head gap hinge" in line]
    assert len(third) == 1
    assert "not in the list yet; as 'Leaf 2 head gap hinge'" in third[0]
    assert not [line for line in lines if "Leaf 9" in line]

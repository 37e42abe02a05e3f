"""A firm's own JSON lines, as an app on site exports them, matched and taken in. All invented."""

import json

import pytest

from pipeline.errors import UserError
from pipeline.ingest.matching.match import match_files
from tests.ingest.matching.test_match import add_doors, matched


def exported(door, low):
    leaves = [{"head gap": {"hinge": 3 + leaf, "lock": 4}} for leaf in range(2)]
    return {"door": door, "measured on": "2025-01-09", "sill level": {"left": 0, "right": low}, "leaves": leaves}


def test_lines_of_objects_are_read_by_the_keys_over_every_value(empty_firm):
    add_doors(empty_firm, ["D1", "D2"])
    lines = [json.dumps(exported("D1", 0.5)), "", json.dumps(exported("D2", "low"))]
    empty_firm.write("site app.jsonl", "\n".join(lines))
    assert matched(empty_firm, "site app.jsonl").n_placed == 8
    empty_firm.take_in()
    found = "SELECT measure, member, station, value FROM readings WHERE install_id = 'D1' ORDER BY ALL"
    assert empty_firm.ask(found) == [
        ("head_gap", "leaf_1", "hinge", 3), ("head_gap", "leaf_1", "lock", 4), ("head_gap", "leaf_2", "hinge", 4),
        ("head_gap", "leaf_2", "lock", 4), ("sill_height", "sill", "left", 0), ("sill_height", "sill", "right", 0.5),
    ]  # fmt: skip
    assert empty_firm.set_aside() == [("site app.jsonl", 3, "sill level / right", "low", "row")]


def test_a_line_that_is_no_object_is_told_by_its_number(empty_firm):
    empty_firm.write("site app.jsonl", '{"door": "D1", "sill left": 1}\n[1, 2]\n')
    with pytest.raises(UserError, match=r"site app\.jsonl cannot be matched: line 2: the line holds no JSON object"):
        match_files([empty_firm.folder / "site app.jsonl"], is_terminal=False)

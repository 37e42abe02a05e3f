"""Logs of calls that are numbered from 1 in every sheet or file, all invented.

How firms number their logs is common practice, no source.
"""

from pipeline.ingest.matching.match import match_files
from tests.ingest.matching.test_match import add_doors, day, write_sheets

HEADS = ["Ref", "Rang on", "Door", "Client", "Complaint"]


def call(number, on, door):
    return [number, day(on), door, f"Mx {door}", f"door {door} drags on the sill and will not lock"]


def test_calls_numbered_anew_in_every_tab_are_calls_of_their_own(empty_firm):
    add_doors(empty_firm, ["D1", "D2", "D3", "D4"])
    tabs = {"May": [HEADS, call(1, 120, "D1"), call(2, 125, "D2")]}
    tabs["June"] = [HEADS, call(1, 150, "D3"), call(2, 155, "D4")]
    write_sheets(empty_firm.folder / "Aftercare.xlsx", tabs)
    (one,) = match_files([empty_firm.folder / "Aftercare.xlsx"], is_terminal=False).matched
    assert ("Ref", "it begins anew in every sheet, so calls are numbered by what they say") in one.proposals[0].doubts
    empty_firm.take_in()
    assert empty_firm.ask("SELECT install_id FROM callbacks ORDER BY 1") == [("D1",), ("D2",), ("D3",), ("D4",)]
    assert empty_firm.account("callbacks") == (4, 4, 0, 0)


def test_calls_numbered_anew_in_every_file(empty_firm):
    add_doors(empty_firm, ["D1", "D2", "D3", "D4"])
    for month, doors in (("2025-05", ("D1", "D2")), ("2025-06", ("D3", "D4"))):
        rows = [f"{n},{month}-2{n},{door},Mx {door},roller broken on {door}" for n, door in enumerate(doors, start=1)]
        empty_firm.write(f"aftercare {month}.csv", "\n".join([",".join(HEADS), *rows]))
    match_files(sorted(empty_firm.folder.glob("after*.csv")), is_terminal=False)
    empty_firm.take_in()
    assert empty_firm.account("callbacks") == (4, 4, 0, 0)


def test_a_call_that_stands_in_two_tabs_keeps_its_number(empty_firm):
    add_doors(empty_firm, ["D1", "D2", "D3"])
    tabs = {"May": [HEADS, call(1, 120, "D1"), call(2, 125, "D2")]}
    tabs["June"] = [HEADS, call(2, 125, "D2"), call(3, 155, "D3")]
    write_sheets(empty_firm.folder / "Aftercare.xlsx", tabs)
    match_files([empty_firm.folder / "Aftercare.xlsx"], is_terminal=False)
    empty_firm.take_in()
    assert empty_firm.ask("SELECT callback_id, install_id FROM callbacks ORDER BY 1") == [
        ("1", "D1"),
        ("2", "D2"),
        ("3", "D3"),
    ]
    assert empty_firm.account("callbacks") == (4, 3, 0, 1)

"""How long a visit took, with the unit beside each number. All invented; common practice, no source."""

import pytest

from tests.ingest.matching.test_match import day, matched, write_sheets

DOORS = [["Door", "Crew", "Fitted", "Width mm"], *([f"D{n}", "Elm", day(n), 3000] for n in range(1, 5))]


@pytest.mark.parametrize(
    ("heads", "times", "hours"),
    [
        (
            ["Date rang", "Door", "What's wrong", "Went out", "Time on site"],
            ["30 min", "1 h", "1.5 hrs", "45 mins"],
            [0.5, 1.0, 1.5, 0.75],
        ),
        (
            ["Rang", "Door", "What for", "Went", "How long"],
            ["30 min", "1½ hrs", "1 1/2 hrs", "½ h"],
            [0.5, 1.5, 1.5, 0.5],
        ),
    ],
)
def test_minutes_and_hours_in_one_column_are_read_by_their_units(empty_firm, heads, times, hours):
    calls = [
        [day(30 + n), f"D{n}", f"Door {n} drags on the sill", day(32 + n), time]
        for n, time in enumerate(times, start=1)
    ]
    write_sheets(empty_firm.folder / "book.xlsx", {"Doors": DOORS, "Calls": [heads, *calls]})
    matched(empty_firm, "book.xlsx")
    empty_firm.take_in()
    assert [read for (read,) in empty_firm.ask("SELECT hours FROM callbacks ORDER BY install_id")] == hours

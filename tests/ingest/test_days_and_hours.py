"""Days and durations as people write them: what the column shows of years and of hours, and what is no single day."""

from datetime import date

import pytest

from tests.ingest.test_values import callbacks


def take_doors(firm, days):
    rows = [f"D{number},Alder,{day}" for number, day in enumerate(days, start=1)]
    firm.write("installs.csv", "\n".join(["install_id,crew,fitted_on", *rows]) + "\n")
    firm.take_in()
    return [day for (day,) in firm.ask("SELECT fitted_on::TEXT FROM installs ORDER BY install_id")]


def test_years_of_two_digits_stand_last_where_last_parts_hardly_change(firm):
    days = [f"{day:02}/03/24" for day in (4, 7, 9, 11, 15, 18, 22, 28)]
    assert take_doors(firm, days) == [f"2024-03-{day:02}" for day in (4, 7, 9, 11, 15, 18, 22, 28)]


def test_a_few_such_days_leave_in_doubt_which_end_is_the_year(firm):
    assert take_doors(firm, ["2024-03-01", *(f"{day:02}/03/24" for day in (4, 7, 9, 11, 15, 18, 22))]) == ["2024-03-01"]
    assert "as the year can stand first or last" in firm.reasons()[0]


def test_between_points_fewer_such_days_show_that_the_year_stands_last(firm):
    days = ["14.04.25", "20.05.25", "16.09.25"]
    assert take_doors(firm, days) == ["2025-04-14", "2025-05-20", "2025-09-16"]
    assert take_doors(firm, ["2024-03-01", *days[:2]]) == ["2024-03-01"]


def test_years_of_two_digits_stand_where_the_column_has_those_of_four(firm):
    days = ["04/03/2024", "15/03/24", "13/03/24 am", "14/03/24 @ 2pm", "Mon 18/03/24", "16/03/24 (pm)"]
    assert take_doors(firm, days) == [f"2024-03-{day:02}" for day in (4, 15, 13, 14, 18, 16)]


@pytest.mark.parametrize(
    ("day", "reason"),
    [("w/c 3 Mar 2025", "a week"), ("Mar-25", "a month or more"), ("Mon 3/3", "its year is not said"),
     ("13-14/03/2025", "two days"), ("early March", "a month or more"),
     ("3 Mar 10 am", "not a date"), ("3 Mar 10am", "not a date"), ("1 Feb 10 (am)", "not a date"),
     ("?", "not a date")],
)  # fmt: skip
def test_what_names_no_single_day_is_set_aside(firm, day, reason):
    assert callbacks(firm, "2025-03-01", day) == [date(2025, 3, 1)]
    (found,) = firm.reasons()
    assert reason in found


def visits(firm, *hours):
    rows = [f'C{number},2025-02-03,"{text}"' for number, text in enumerate(hours, start=1)]
    firm.write("callbacks.csv", "\n".join(["callback_id,reported_on,hours", *rows]) + "\n")
    firm.take_in()
    return [number for (number,) in firm.ask("SELECT hours FROM callbacks ORDER BY callback_id")]


def test_minutes_among_hours_are_left_empty_unless_they_say_so(firm):
    assert visits(firm, "1.5", "90", "45m", "90 min", "90 h", "half an hour") == [1.5, None, 0.75, 1.5, 90.0, 0.5]
    assert "this can be 90 hours or 90 minutes; write 90 h or 90 min" in firm.reasons()
    assert visits(firm, "40", "37.5", "90") == [40.0, 37.5, 90.0]


def test_leaves_may_be_counted_in_words(firm):
    counts = ["4 leaf", "5 No.", "3 panels", "6x", "4+1", "3 L", "3-4"]
    rows = [f"D{number},Alder,2025-01-10,{text}" for number, text in enumerate(counts, start=1)]
    firm.write("installs.csv", "\n".join(["install_id,crew,fitted_on,leaves", *rows]) + "\n")
    firm.take_in()
    found = firm.ask("SELECT leaves FROM installs ORDER BY install_id")
    assert [number for (number,) in found] == [4, 5, 3, 6, None, None, None]


def test_hours_with_minutes_behind_a_point_are_left_empty(firm):
    assert visits(firm, "1.30", "0.45", "2.00", "3", "1.15 h") == [None, None, 2.0, 3.0, 1.15]
    assert "this can be 1 h 30 min or 1.3 hours; write 1:30 or 1.3 h" in firm.reasons()
    assert visits(firm, "1.30", "0.45", "2.5") == [1.3, 0.45, 2.5]


def test_the_first_of_a_month_in_many_years_is_not_taken_for_a_year(firm):
    assert take_doors(firm, ["2024-03-01", *(f"01/03/{year:02}" for year in range(12, 24))]) == ["2024-03-01"]

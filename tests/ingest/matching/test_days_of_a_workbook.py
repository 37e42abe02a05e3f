"""Which part of a day is the month: what one sheet leaves open, the others of its workbook say. All invented."""

from tests.ingest.matching.test_match import matched, write_sheets

DOORS = [
    ["Door", "Crew", "Fitted", "Width mm"],
    ["D1", "Elm", "13/03/25", 3000],
    ["D2", "Elm", "28/03/25", 3100],
    ["D3", "Oak", "04/04/25", 3200],
]
CALLS = [
    ["Date rang", "Door", "What's wrong"],
    ["05/06/25", "D1", "Drags on the sill"],
    ["06/07/25", "D3", "Leaks in the corner"],
    ["07/08/25", "D2", "Handle is very stiff"],
    ["08/09/25", "D2", "Lock will not turn"],
]


def take(firm, sheets):
    write_sheets(firm.folder / "book.xlsx", sheets)
    one = matched(firm, "book.xlsx")
    firm.take_in()
    return one


def test_a_sheet_of_few_days_is_read_as_the_others_of_its_workbook(empty_firm):
    one = take(empty_firm, {"Doors": DOORS, "Calls": CALLS})
    assert empty_firm.ask("SELECT reported_on::TEXT FROM callbacks ORDER BY 1") == [
        ("2025-06-05",), ("2025-07-06",), ("2025-08-07",), ("2025-09-08",),
    ]  # fmt: skip
    assert [preview.n_aside for _, preview in one.previews] == [0, 0]


def test_where_two_sheets_contradict_each_other_none_decides_for_a_third(empty_firm):
    month_first = [["Date", "Crew", "Training in"], ["06/20/25", "Elm", "glazing"], ["07/21/25", "Oak", "glazing"]]
    take(empty_firm, {"Doors": DOORS, "Training": month_first, "Calls": CALLS})
    assert empty_firm.ask("SELECT trained_on::TEXT FROM training ORDER BY 1") == [("2025-06-20",), ("2025-07-21",)]
    assert empty_firm.ask("SELECT count(*) FROM callbacks WHERE reported_on IS NOT NULL") == [(0,)]


def test_days_as_texts_beside_numbers_of_days_are_one_column(empty_firm):
    """Serial numbers of 2025 in a workbook, and days that somebody typed between them."""
    days = ["18.3.25", 45735, "15.9.25", 45902, "5.6.25", 45874]
    doors = [["Door", "Crew", "Fitted"], *([f"D{at}", "Elm", text] for at, text in enumerate(days))]
    write_sheets(empty_firm.folder / "a.xlsx", {"A": doors})
    matched(empty_firm, "a.xlsx")
    empty_firm.take_in()
    assert [str(one) for (one,) in empty_firm.ask("SELECT fitted_on FROM installs ORDER BY install_id")] == [
        "2025-03-18", "2025-03-19", "2025-09-15", "2025-09-02", "2025-06-05", "2025-08-05",
    ]  # fmt: skip

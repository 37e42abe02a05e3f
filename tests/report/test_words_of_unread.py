"""What is said of columns that nothing is read from."""

from pipeline.report.sheets.unread import unread_table
from pipeline.report.words.unread import how_unread
from tests.report.invented import invented_tables
from tests.report.test_reading import opened_with


def test_the_table_tells_new_columns_first_sheets_together_and_nothing_of_what_is_left_out(tmp_path):
    with opened_with(tmp_path) as results:
        (table,) = unread_table(results)
    assert table.says == "3 columns of your files are not read, so in no number; new: Sill mid"
    assert [row[:4] for row in table.rows] == [
        ("readings 2025.xlsx", "Feb", "Sill mid", "37"),
        ("readings 2025.xlsx", "Feb, Jan", "Photo", "808"),
        ("callbacks.csv", "", "van", ""),
    ]
    assert "1 column is left out so." in table.how


def test_where_all_is_read_or_left_out_nothing_is_said(tmp_path):
    unread = invented_tables()["unread_columns"]
    with opened_with(tmp_path, unread_columns=unread.filter(unread["state"] == "left out")) as results:
        assert unread_table(results) == []


def test_how_many_more_there_are_is_said():
    assert how_unread(0, 7).endswith(" 7 more stand in tables/unread_columns.csv.")

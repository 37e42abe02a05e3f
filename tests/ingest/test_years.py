"""Days without a year: taken where title, names or the row leave one year only, set aside with a sentence elsewhere."""

from datetime import date

import pytest

from pipeline.ingest.matching.match import match_files
from pipeline.ingest.texts.dates import days_in_year, is_yearless
from pipeline.ingest.texts.years_said import year_said

HEAD = "install_id,crew,surveyed_on,fitted_on,handed_over_on\n"


@pytest.mark.parametrize(
    ("texts", "year"),
    [
        (["fitting diary 2025"], 2025),
        (["FITTING_DIARY_2025", None, "Fitting diary 2025"], 2025),
        (["site 2025-03"], 2025),
        (["diary", "2025", "printed 7 January 2026"], None),
        (["jobs 2024-25"], None),
        (["jobs 2024/2025"], None),
        (["callbacks since 2023"], None),
        (["Returns 2024 onwards"], None),
        (["Returns 2024 -"], None),
        (["checked to BS 8213-4:2016"], None),
        (["form F12 rev 2019", "diary 2025"], 2025),
        (["plot 20251"], None),
        (["diary", "printed 7 January 2026"], None),
        (["updated 03/01/2026"], None),
        (["year ending March 2025"], None),
        (["FY2025"], None),
        (["2024 & earlier"], None),
        (["Job 2012"], None),
        (["Door no. 2019", "diary 2025"], 2025),
        (["D2012"], None),
        (["Doors 2024"], 2024),
        (["doors2024"], 2024),
        (["diary"], None),
    ],
)
def test_the_year_that_names_and_titles_say(texts, year):
    assert year_said(texts) == year


@pytest.mark.parametrize("text", ["3 Mar", "3rd of March", "March 3rd", "Mon 3 Mar", "3-Mar", "3/3", "03.03", "3.3."])
def test_days_that_lack_nothing_but_their_year(text):
    assert is_yearless(text)
    assert set(days_in_year(text, 2025).values()) == {date(2025, 3, 3)}


@pytest.mark.parametrize("text", ["Mar 25", "3-4", "3.1", "w/c 3 Mar", "3 Mar 25", "March", "3 Mar 10 am", "1 3/4"])
def test_what_may_be_something_else_is_none(text):
    assert not is_yearless(text)


def test_a_weekday_must_be_that_of_the_year():
    """3 March 2025 was a Monday."""
    assert days_in_year("Mon 3 Mar", 2024) == {}


def fitted(firm, rows, name="installs 2025.csv", head=HEAD):
    for path in firm.folder.glob("installs*"):
        path.unlink()
    firm.write(name, head + "\n".join(rows) + "\n")
    firm.take_in()
    return firm.ask("SELECT surveyed_on::TEXT, fitted_on::TEXT, handed_over_on::TEXT FROM installs ORDER BY install_id")


WHOLE = "D9,Ash,2025-01-05,2025-01-20,2025-01-21"


def test_the_name_of_the_file_says_the_year_and_the_text_stays_beside_it(empty_firm):
    assert fitted(empty_firm, ["D1,Ash,3 Feb,14/2,1 Mar", WHOLE])[0] == ("2025-02-03", "2025-02-14", "2025-03-01")
    (raw,) = empty_firm.ask("SELECT raw FROM installs_history WHERE install_id = 'D1'")
    assert '"fitted_on":"14/2"' in raw[0]
    assert '"fitted_on rule":"year of the title or name"' in raw[0]


def test_without_a_year_in_name_or_title_the_row_says_it_where_one_is_possible(empty_firm):
    """The records are taken in on 1 March 2026: fitted after 10 November 2025 leaves 3 February 2026 alone."""
    rows = ["D1,Ash,2025-11-10,3 Feb,", WHOLE]
    assert fitted(empty_firm, rows, "installs.csv")[0] == ("2025-11-10", "2026-02-03", None)


@pytest.mark.parametrize(
    ("row", "left"),
    [
        ("D1,Ash,,3 Feb,", "no other day stands in the row"),
        ("D1,Ash,2024-01-10,3 Feb,", "2024, 2025 and 2026 are possible"),
        ("D1,Ash,,3 Feb,2025-03-01", "every year before is possible"),
    ],
)
def test_where_several_years_are_possible_the_row_is_set_aside(empty_firm, row, left):
    assert len(fitted(empty_firm, [row, WHOLE], "installs.csv")) == 1, left
    (reason,) = empty_firm.reasons()
    assert reason.startswith("its year is not said; write the date as year-month-day")


def test_a_day_after_the_turn_of_the_year_is_of_the_next(empty_firm):
    """Fitted in December of the title's year and signed off in January, which cannot be the January before."""
    assert fitted(empty_firm, ["D1,Ash,12 Nov,20 Dec,8 Jan", WHOLE])[0] == ("2025-11-12", "2025-12-20", "2026-01-08")


def test_a_survey_of_the_year_before_is_left_empty_and_the_door_kept(empty_firm):
    assert fitted(empty_firm, ["D1,Ash,12 Dec,20 Jan,", WHOLE])[0] == (None, "2025-01-20", None)
    assert empty_firm.reasons() == [
        "its year is not said, and 2025, the year of its sheet, does not fit the row; write the date as "
        "year-month-day, such as 2025-02-28"
    ]


def test_a_list_that_runs_past_the_turn_of_a_year_is_not_of_one_year(empty_firm):
    days = ["3 Mar", "9 May", "2 Jul", "8 Oct", "18 Dec", "5 Jan"]
    rows = [f"D{number},Ash,,{day}," for number, day in enumerate(days)]
    fitted(empty_firm, [*rows, "D9,Ash,,2025-01-01,"])
    assert all("pass the turn of a year" in reason for reason in empty_firm.reasons())
    assert empty_firm.account("installs") == (7, 1, 6, 0)


def test_a_column_with_a_whole_day_of_another_year_is_not_of_the_year_of_its_name(empty_firm):
    fitted(empty_firm, ["D1,Ash,,3 Feb,", "D2,Ash,,2024-12-20,"])
    (reason,) = empty_firm.reasons()
    assert "not all days of the column are of 2025, the year of its sheet" in reason


def test_day_and_month_that_can_be_mixed_up_are_not_guessed(empty_firm):
    fitted(empty_firm, ["D1,Ash,,3/4,", "D2,Ash,,2025-01-20,"])
    (reason,) = empty_firm.reasons()
    assert reason.startswith("its year is not said, and day and month can be mixed up")


def test_a_day_past_the_twelfth_decides_which_is_the_month(empty_firm):
    assert [row[1] for row in fitted(empty_firm, ["D1,Ash,,3/4,", "D2,Ash,,14/4,", WHOLE])][:2] == [
        "2025-04-03",
        "2025-04-14",
    ]


def test_a_day_yet_to_come_is_not_of_the_year_of_the_name(empty_firm):
    """Taken in on 1 March 2026: 20 December 2026 has not been."""
    fitted(empty_firm, ["D1,Ash,,20 Dec,", "D2,Ash,,2026-01-10,"], "installs 2026.csv")
    (reason,) = empty_firm.reasons()
    assert "2026, the year of its sheet, does not fit the row" in reason


def test_a_callback_is_visited_after_it_was_reported(firm):
    firm.write(
        "callbacks.csv",
        "callback_id,install_id,reported_on,visited_on,note\nC1,D1,2025-12-20,8 Jan,leaks\nC2,D1,2025-02-01,9 Feb,x\n",
    )
    firm.take_in()
    assert firm.ask("SELECT visited_on::TEXT FROM callbacks ORDER BY callback_id") == [("2026-01-08",), (None,)]


def test_a_diary_of_a_firm_with_its_year_in_the_title(empty_firm):
    rows = ["FITTING DIARY 2025,,,,", ",,,,", "Date,Van,Job,Leaves,Signed off"]
    rows += [f"{day}-Mar,Van {day % 2 + 1},{8000 + day},3,{day + 2}-Mar" for day in range(3, 20)]
    empty_firm.write("diary.csv", "\n".join(rows) + "\n")
    match_files([empty_firm.folder / "diary.csv"], is_terminal=False)
    empty_firm.take_in()
    found = empty_firm.ask("SELECT count(*), min(fitted_on)::TEXT, max(handed_over_on)::TEXT FROM installs")
    assert found == [(17, "2025-03-03", "2025-03-21")]


def test_a_blank_crew_beside_a_blank_day_is_that_of_the_row_above(empty_firm):
    """Two vans that come again and again say by themselves nothing of blanks; the days beside them do."""
    rows = ["DIARY 2025,,,,", "Date,Van,Job,Leaves,Signed off"]
    for day in range(3, 24):
        rows += [f"{day}-Mar,Van {1 + (day % 6 > 3)},{8000 + day},3,{day + 2}-Mar"]
        rows += [f",,{9000 + day},3,{day + 2}-Mar"] if day % 3 == 0 else []
    empty_firm.write("diary.csv", "\n".join(rows) + "\n")
    match_files([empty_firm.folder / "diary.csv"], is_terminal=False)
    empty_firm.take_in()
    assert empty_firm.account("installs") == (28, 28, 0, 0)
    assert empty_firm.ask(
        "SELECT DISTINCT a.crew = b.crew AND a.fitted_on = b.fitted_on FROM installs AS a JOIN installs AS b "
        "ON b.install_id::INT = a.install_id::INT + 1000"
    ) == [(True,)]

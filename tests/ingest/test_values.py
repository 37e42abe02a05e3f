"""Values as people write them, taken in from files by the column's evidence, with text and rule kept beside."""

import json
from datetime import date

import pytest

from pipeline.errors import UserError

HEADER = "install_id,measure,station,value,unit,read_by"
VALUES = "SELECT station, value FROM readings ORDER BY station::INT"
RAW = 'SELECT "row", raw FROM readings_history WHERE raw IS NOT NULL ORDER BY "row"'


def take_readings(firm, *cells, toml="", measure="sill_height", one_place=False):
    """Takes in readings of D1, one per `value,unit,read_by` text; stations count from 1, or all are 1."""
    rows = [f"D1,{measure},{1 if one_place else number},{cell}" for number, cell in enumerate(cells, start=1)]
    firm.write("readings.csv", "\n".join([HEADER, *rows]) + "\n")
    firm.write("fitback.toml", toml)
    return firm.take_in()


def test_the_text_stays_beside_the_value_with_the_rule(firm):
    take_readings(firm, '"3,5",mm,', "3mm,mm,", "4 cm,,", '"1 1/8""",,', '"1.234,5",mm,', "7,mm,")
    assert firm.ask(VALUES) == [("1", 3.5), ("2", 3.0), ("3", 40.0), ("4", 28.575), ("5", 1234.5), ("6", 7.0)]
    assert firm.ask(RAW) == [
        (2, '{"value":"3,5","value rule":"decimal comma"}'),
        (3, '{"value":"3mm","value rule":"unit in the cell"}'),
        (4, '{"unit":"cm","value":"4 cm","value rule":"unit in the cell"}'),
        (5, '{"unit":"in","value":"1 1/8\\"","value rule":"fraction, unit in the cell"}'),
        (6, '{"value":"1.234,5","value rule":"decimal comma, point between thousands"}'),
    ]


def test_thousands_by_the_columns_own_evidence(firm):
    take_readings(firm, '"1,234",mm,', "3.5,mm,")
    assert firm.ask(VALUES) == [("1", 1234.0), ("2", 3.5)]
    take_readings(firm, '"1,234",mm,', '"3,5",mm,', "2.345,mm,")
    assert firm.ask(VALUES) == [("1", 1.234), ("2", 3.5), ("3", 2345.0)]


@pytest.mark.parametrize("other", ["12,mm,", '"2,345",mm,', "2.345,mm,"])
def test_a_comma_that_can_be_either_is_refused(firm, other):
    take_readings(firm, '"1,234",mm,', other)
    assert ("readings.csv", 2, "value", "1,234", "row") in firm.set_aside()
    assert firm.reasons()[0] == (
        "this can be 1234 or 1.234, and nothing in the column shows which; write 1234 or "
        '1.2340, or say decimals = "point" or "comma" in fitback.toml'
    )
    take_readings(firm, "1234,mm,", "1.2340,mm,")
    assert firm.ask(VALUES) == [("1", 1234.0), ("2", 1.234)]


def test_a_point_that_can_be_either_is_refused_too(firm):
    take_readings(firm, "1.234,mm,", "12,mm,")
    assert firm.ask(VALUES) == [("2", 12.0)]
    take_readings(firm, "1.234,mm,", "12,mm,", toml='decimals = "point"\n')
    assert firm.ask(VALUES) == [("1", 1.234), ("2", 12.0)]
    take_readings(firm, "1.234,mm,", "12.5,mm,")
    assert firm.ask(VALUES) == [("1", 1.234), ("2", 12.5)]


def test_a_doubtful_size_is_read_where_only_one_reading_is_plausible(firm):
    rows = ["D1,Alder,2025-01-10,4.235,44.500,1.234", 'D2,Alder,2025-01-10,"1,234",,2.500']
    firm.write(
        "installs.csv", "\n".join(["install_id,crew,fitted_on,width (m),leaf weight (kg),glass_mm", *rows]) + "\n"
    )
    firm.take_in()
    asked = "SELECT width_mm, leaf_weight_kg, glass_mm FROM installs ORDER BY install_id"
    assert firm.ask(asked) == [(4235.0, 44.5, 1.234), (1234.0, None, 2.5)]
    assert "decimal comma, m to mm, the only plausible reading" in firm.ask("SELECT raw FROM installs_history")[1][0]


def test_a_doubtful_reading_is_read_where_only_one_is_plausible(firm):
    rows = ["frame_width,2.674,m", 'frame_width,"2,675",mm', "frame_width,2.676m,", 'head_gap,"1,250",mm',
            'head_gap,"-1,250",mm', 'sill_height,"1,250",mm']  # fmt: skip
    head = "install_id,measure,station,value,unit"
    numbered = [row.replace(",", f",{number},", 1) for number, row in enumerate(rows, start=1)]
    firm.write("readings.csv", "\n".join([head, *(f"D1,{row}" for row in numbered)]) + "\n")
    firm.take_in()
    assert firm.ask(VALUES) == [("1", 2674.0), ("2", 2675.0), ("3", 2676.0), ("4", 1.25)]
    assert firm.ask(RAW)[0] == (2, '{"unit":"m","value":"2.674","value rule":"the only plausible reading"}')
    assert [reason[:30] for reason in firm.reasons()] == ["this can be 1250 or 1.250, and"] * 2


def test_both_marks_in_one_column_leave_the_doubtful_out(firm):
    take_readings(firm, '"3,5",mm,', "2.5,mm,", "1.234,mm,")
    assert firm.ask(VALUES) == [("1", 3.5), ("2", 2.5)]
    assert firm.reasons()[0].startswith("this can be 1234 or 1.234, and the column holds both 3,5 and 2.5; write")


def test_what_the_firm_says_of_its_decimals_settles_doubt_only(firm):
    take_readings(firm, '"1,234",mm,', "12,mm,", toml='decimals = "comma"\n')
    assert firm.ask(VALUES) == [("1", 1.234), ("2", 12.0)]
    take_readings(firm, '"1,234",mm,', "12,mm,", toml='decimals = "point"\n')
    assert firm.ask(VALUES) == [("1", 1234.0), ("2", 12.0)]
    take_readings(firm, '"1,234",mm,', "12.5,mm,", toml='decimals = "comma"\n')
    assert firm.ask(VALUES) == [("2", 12.5)]
    assert "the column holds 12.5 where fitback.toml says a decimal comma" in firm.reasons()[0]


@pytest.mark.parametrize(
    ("cell", "reason"),
    [
        ("n/a,mm,", "'n/a' is not a number; write the reading, or empty the cell if none was taken (in a list, delete "
                    "its row)"),
        ("3 L,mm,", "'L' beside the number is not understood; write the number alone, with its sign, or "
                    'say under [[sign]] in fitback.toml what it means: text = "L", sign = "+" or "-"'),
        ("about 3,mm,", "this says about how much it is, or how much at most; write the number alone, in digits"),
        ("3 cm,mm,", "the cell says cm and its unit column mm; correct one of them"),
        ("3 in,,", "'in' can be inches or a direction; write inches in the unit column, or the sign instead"),
        ("1/8,mm,", "fractions are of inches, and the unit is mm; write in beside the fraction, or decimals of mm"),
        ("2025-01-08,mm,", "this is a date, which a spreadsheet makes of a fraction such as 1/8; write the reading in"),
        ("3 kg,,", "sill_height is not measured in kg; write mm, cm, m, in, ft, deg or mm/m"),
        ("12,,", "this must not be empty; fill it in; mm, cm, m, in, ft, deg or mm/m would be plausible"),
    ],
)  # fmt: skip
def test_what_leaves_doubt_is_set_aside_with_what_to_do(firm, cell, reason):
    take_readings(firm, cell)
    assert firm.ask(VALUES) == []
    (found,) = firm.reasons()
    assert found.startswith(reason)
    assert firm.account("readings") == (1, 0, 1, 0)


@pytest.mark.parametrize("cell", ["ok,mm,", "✓,mm,", "Level,mm,", "ok,,"])
def test_ok_is_taken_in_as_within_what_was_allowed_and_never_as_a_number(firm, cell):
    take_readings(firm, cell)
    assert firm.ask("SELECT value, unit, written_value, written_unit FROM readings") == [(None, "mm", None, "ok")]
    assert firm.account("readings") == (1, 1, 0, 0)
    [(_, raw)] = firm.ask(RAW)
    said = json.loads(raw)
    assert said["value"] == cell.split(",")[0]
    assert said["value rule"] == "within what was allowed, the number not told"


@pytest.mark.parametrize("cells", [("ok,mm,", "3.2,mm,"), ("3.2,mm,", "ok,mm,")])
def test_a_number_beside_ok_at_the_same_place_does_not_contradict_it(firm, cells):
    take_readings(firm, *cells, one_place=True)
    found = firm.ask("SELECT value, written_unit FROM readings ORDER BY value NULLS FIRST")
    assert found == [(None, "ok"), (3.2, None)]
    assert firm.account("readings") == (2, 2, 0, 0)


def test_ok_keeps_its_position_so_that_two_places_are_no_repeat(firm):
    rows = ["0,ok,mm", "1000,ok,mm", "0,3.2,mm"]
    lines = [f"D1,sill_height,{row}" for row in rows]
    firm.write("readings.csv", "\n".join(["install_id,measure,position_mm,value,unit", *lines]) + "\n")
    firm.take_in()
    found = firm.ask("SELECT position_mm, value, written_unit FROM readings ORDER BY ALL")
    assert found == [(0.0, 3.2, None), (0.0, None, "ok"), (1000.0, None, "ok")]
    assert firm.account("readings") == (3, 3, 0, 0)


SIGNS = """
[[sign]]
text = "L"
sign = "-"
measure = "sill_height"
[[sign]]
text = "L"
sign = "+"
measure = "sill_height"
read_by = "Sam"
[[sign]]
read_by = "Kim"
sign = "-"
"""


def test_sides_and_signs_count_as_the_firm_declares_them(firm):
    cells = ["3 L,mm,Alex", "L 3 mm,mm,Alex", "3 L,mm,sam", "3,mm,Kim", "3,mm,Sam", "3mm L,,Alex"]
    take_readings(firm, *cells, toml=SIGNS)
    assert firm.ask(VALUES) == [("1", -3.0), ("2", -3.0), ("3", 3.0), ("4", -3.0), ("5", 3.0), ("6", -3.0)]
    assert firm.ask(RAW)[0] == (2, '{"value":"3 L","value rule":"L means minus"}')
    assert firm.ask(RAW)[-2] == (5, '{"value":"3","value rule":"Kim means minus"}')
    take_readings(firm, "3 L,mm,Alex", toml=SIGNS, measure="sill_line")
    assert firm.ask(VALUES) == []


@pytest.mark.parametrize(
    ("toml", "words"),
    [
        ('dates = "days first"', 'dates = \'days first\' must be "day first" or "month first"'),
        ('decimals = ","', 'decimals = \',\' must be "point" or "comma"'),
        ('[[sign]]\ntext = "L"\nsign = "minus"', "sign = 'minus' must be + or -, in quotes"),
        ('[[sign]]\nsign = "-"', "give it a text such as L, or read_by"),
        ('[[sign]]\ntext = "L"\nsign = "-"\nmeasure = "sill_hight"', "did you mean sill_height"),
        ('[[spelling]]\ntext = "x"\nmeans = "failed"', "[[spelling]] x: 'failed' is not known; did you mean fail"),
        ('[[spelling]]\ntext = "x"\nmeans = "qqqqqq"', "'qqqqqq' is not known; README lists the words."),
        ('[[spelling]]\ntext = "x"', "'means' is missing"),
        ('[[spelling]]\ntext = "x"\nmean = "fail"', "'mean' is not a key of a spelling; did you mean means"),
        ('date = "day first"', "'date' is not a setting; did you mean dates"),
        ('[[fault]]\nname = "a;b"', "the fault 'a;b' holds a ; which parts faults; choose another name"),
    ],
)
def test_customs_that_are_not_known_are_refused(firm, toml, words):
    with pytest.raises(UserError) as caught:
        take_readings(firm, "3,mm,", toml=toml)
    assert words in str(caught.value)


def callbacks(firm, *days, toml="", more=""):
    rows = [f"C{number},{day}" for number, day in enumerate(days, start=1)]
    firm.write("callbacks.csv", "\n".join([f"callback_id,reported_on{more}", *rows]) + "\n")
    firm.write("fitback.toml", toml)
    firm.take_in()
    return [day for (day,) in firm.ask("SELECT reported_on FROM callbacks ORDER BY callback_id")]


def test_a_day_past_the_12th_decides_for_its_column(firm):
    assert callbacks(firm, "31/01/2025", "01/02/2025") == [date(2025, 1, 31), date(2025, 2, 1)]
    assert callbacks(firm, "01/31/2025", "01/02/2025") == [date(2025, 1, 31), date(2025, 1, 2)]
    raw = firm.ask('SELECT raw FROM callbacks_history WHERE NOT superseded AND "row" = 3')
    assert raw == [('{"reported_on":"01/02/2025","reported_on rule":"month first"}',)]


def test_dates_in_doubt_are_set_aside_until_the_firm_says_how_it_writes_them(firm):
    assert callbacks(firm, "03/02/2025", "2025-03-01") == [date(2025, 3, 1)]
    assert firm.reasons() == [
        "day and month can be mixed up: this can be 2025-02-03 or 2025-03-02, and no date of the column is past the "
        '12th of its month; write the date as year-month-day, such as 2025-02-28, or say dates = "day first" or '
        '"month first" in fitback.toml'
    ]
    days = callbacks(firm, "03/02/2025", "2025-03-01", toml='dates = "day first"\n')
    assert days == [date(2025, 2, 3), date(2025, 3, 1)]


def test_other_date_columns_of_the_sheet_are_heard(firm):
    more = ",logged_on"
    assert callbacks(firm, "03/02/2025,14/02/2025", "04/02/2025,", more=more) == [date(2025, 2, 3), date(2025, 2, 4)]
    assert callbacks(firm, "03/02/2025,02/14/2025", "13/02/2025,", more=more) == [date(2025, 2, 13)]
    assert "13/02/2025 is day first and 02/14/2025 is month first" in firm.reasons()[0]


def test_settings_against_the_columns_own_evidence_settle_nothing(firm):
    assert callbacks(firm, "31/01/2025", "03/02/2025", toml='dates = "month first"\n') == [date(2025, 1, 31)]
    assert "31/01/2025 is day first where fitback.toml says month first" in firm.reasons()[0]


def test_the_same_file_is_judged_again_once_the_firm_says_how_it_writes(firm):
    assert callbacks(firm, "03/02/2025") == []
    firm.write("fitback.toml", 'dates = "month first"\n')
    firm.take_in()
    assert firm.ask("SELECT reported_on FROM callbacks") == [(date(2025, 3, 2),)]


def test_days_that_a_spreadsheet_may_have_exchanged_are_set_aside(firm):
    # 03/02/2025 taken as 2 March by a spreadsheet that expects the month first, 14/02/2025 left as text
    assert callbacks(firm, "2025-03-02", "2025-05-02", "14/02/2025", "31/01/2025") == [
        date(2025, 2, 14), date(2025, 1, 31)
    ]  # fmt: skip
    assert firm.reasons()[0].startswith("a spreadsheet may have exchanged day and month: every day it knew as a date")
    kept = ["2025-03-02", "2025-05-22", "14/02/2025", "31/01/2025"]
    assert len(callbacks(firm, *kept)) == 4


OUTCOMES = ["pass", "Pass", "OK", "yes", "Y", "✓", "✔", "no", "N", "✗", "fail", "n/a", "N.A.", "not applicable", "TRUE"]
MEANT = ["pass"] * 7 + ["fail"] * 4 + ["not_applicable"] * 3 + ["pass"]


def take_checks(firm, outcomes, toml=""):
    rows = [f"D1,sill_bedded,place {number},{text}" for number, text in enumerate(outcomes)]
    firm.write("checks.csv", "\n".join(["install_id,check,member,outcome", *rows]) + "\n")
    firm.write("fitback.toml", toml)
    firm.take_in()
    return firm.ask("SELECT member, outcome FROM checks ORDER BY length(member), member")


def test_ticks_and_short_answers_are_outcomes(firm):
    assert [outcome for _, outcome in take_checks(firm, OUTCOMES)] == MEANT
    assert firm.ask("SELECT raw FROM checks_history WHERE member = 'place 5'") == [
        ('{"outcome":"✓","outcome rule":"✓ means pass"}',)
    ]


def test_a_mark_that_can_be_both_is_declared_or_set_aside(firm):
    assert take_checks(firm, ["x", "FALSE", "pass"]) == [("place 2", "pass")]
    assert firm.reasons()[1] == (
        "'x' can be a tick or a cross; write pass or fail, or say what it means in fitback.toml under [[spelling]], "
        "with text and means"
    )
    toml = '[[spelling]]\ntext = "X"\nmeans = "fail"\n'
    assert take_checks(firm, ["x", "FALSE", "pass"], toml) == [("place 0", "fail"), ("place 2", "pass")]


def test_headings_in_any_spelling(empty_firm):
    empty_firm.write(
        "installs.csv", "Install ID,CREW,Fitted-on,Job No.,width (cm),Height\nD1,A,2025-01-10,7,400,2100\n"
    )
    intake = empty_firm.take_in()
    assert intake.notes == []
    asked = "SELECT install_id, job_no, width_mm, height_mm FROM installs"
    assert empty_firm.ask(asked) == [("D1", "7", 4000.0, 2100.0)]
    assert empty_firm.ask("SELECT raw FROM installs_history") == [
        (
            '{"width_mm":"400","width_mm rule":"cm to mm",'
            '"height_mm":"2100","height_mm rule":"mm, the only plausible unit"}',
        )
    ]


def test_the_name_itself_goes_before_a_name_with_a_unit(firm):
    firm.write("installs.csv", "install_id,crew,fitted_on,width,width_mm\nD1,Alder,2025-01-10,9,4000\n")
    intake = firm.take_in()
    assert firm.ask("SELECT width_mm FROM installs") == [(4000.0,)]
    assert [(one.column.heading, one.column.state) for one in intake.unread] == [("width", "no such column")]
    firm.write("readings.csv", "install_id,measure,value cm,value in\nD1,sill_height,1,2\n")
    assert "readings.csv refused: the column 'value' stands twice in the first row; keep one" in firm.take_in().notes[0]


def test_a_heading_may_stand_for_the_unit_column(firm):
    firm.write(
        "readings.csv", "install_id,measure,Value (cm)\nD1,sill_height,3\nD2,sill_height,3 cm\nD2,sill_line,3 mm\n"
    )
    firm.take_in()
    assert firm.ask("SELECT value, unit FROM readings") == [(30.0, "mm"), (30.0, "mm")]
    assert firm.reasons() == ["the cell says mm and the heading cm; correct one of them"]


def test_a_width_in_another_unit_is_pointed_at_or_read_where_no_unit_is_said(firm):
    widths = ["4.2", "420", "4200", "165.4"]
    rows = "\n".join(f"D{number},Alder,2025-01-10,{width}" for number, width in enumerate(widths, start=1))
    # trade brief 3.11: the same door in m, cm, mm and inches; two units fit all but the third
    firm.write("installs.csv", f"install_id,crew,fitted_on,width\n{rows}\n")
    firm.take_in()
    assert firm.ask("SELECT width_mm FROM installs ORDER BY install_id") == [(None,), (None,), (4200.0,), (None,)]
    assert "its unit is not said and it can be 4,200 mm (m) or 1,280.16 mm (ft); name the column width_mm" in str(
        firm.reasons()
    )
    firm.write("installs.csv", f"install_id,crew,fitted_on,width_mm\n{rows}\n")
    firm.take_in()
    assert firm.ask("SELECT width_mm FROM installs ORDER BY install_id") == [(None,), (420.0,), (4200.0,), (None,)]
    assert (
        "this is not plausible; expected 200 to 30,000; write 4,200 if it is in m or 1,280.16 if it is in ft"
        in firm.reasons()
    )


def test_the_leaves_tell_the_unit_of_a_width_and_contradict_one_that_no_leaf_can_have(firm):
    widths = [("4.2", 5), ("420", 5), ("4200", 5), ("165.4", 5), ("165.4", 3)]
    rows = "\n".join(f"D{n},Alder,2025-01-10,{width},{leaves}" for n, (width, leaves) in enumerate(widths, start=1))
    firm.write("installs.csv", f"install_id,crew,fitted_on,width,leaves\n{rows}\n")
    firm.take_in()
    asked = "SELECT round(width_mm, 2) FROM installs ORDER BY install_id"
    # 165.4 is 331 mm a leaf in cm and 840 mm in inches with five leaves, 551 and 1,400 with three: both can be
    assert firm.ask(asked) == [(4200.0,), (4200.0,), (4200.0,), (None,), (None,)]
    assert (
        '"m, the only unit plausible for 5 leaves"'
        in firm.ask('SELECT raw FROM installs_history WHERE "row" = 2')[0][0]
    )
    firm.write("installs.csv", f"install_id,crew,fitted_on,width_mm,leaves\n{rows}\n")
    firm.take_in()
    assert firm.ask(asked) == [(None,), (None,), (4200.0,), (None,), (None,)]
    assert "420 mm over 5 leaves is not plausible; write 4,200 if it is in cm" in firm.reasons()

"""Data checks: each claim counts the rows it is about, and says so in a sentence."""

DOORS = """
    install_id | crew | fitted_on  | handed_over_on | width_mm | leaves
    D1         | A    | 2024-01-10 | 2024-01-09     | 3000     | 3
    D2         | A    | 2024-01-10 | 2024-01-11     | 9000     | 3
"""
CALLS = """
    callback_id | install_id | reported_on | fault
    C1          | D1         | 2024-02-01  | draught;noise
    C2          |            | 2024-02-01  |
"""


def checks(run_model, **given):
    rows = run_model("data_checks", installs=DOORS, **given).pick("check", "rows_checked", "rows_failing", "sentence")
    return {row[0]: row[1:] for row in rows}


def test_a_callback_with_two_faults_is_one_callback(run_model):
    found = checks(run_model, callbacks=CALLS)
    assert found["coded with a fault"][:2] == (2, 1)
    assert found["linked to a door"][:2] == (2, 1)


def test_dates_out_of_order_and_odd_sizes_are_counted(run_model):
    found = checks(run_model)
    assert found["handed over on or after fitting"][:2] == (2, 1)
    assert found["leaf width between 300 and 1,500 mm"][:2] == (2, 1)
    assert found["has readings that count"][:2] == (2, 2)


def test_sentences_say_how_many_of_how_many_or_that_there_is_nothing(run_model):
    found = checks(run_model)
    assert found["handed over on or after fitting"][2].startswith("1 of 2 doors")
    assert found["coded with a fault"][2] == "Nothing to check: coded with a fault."


def test_readings_of_another_day_than_the_fitting_are_counted(run_model):
    readings = """
        install_id | measure     | position_mm | value | read_on
        D1         | frame_width | 0           | 3000  | 2023-01-01
        D1         | frame_width | 1000        | 3000  | 2024-01-10
        D1         | frame_width | 2000        | 3000  | 2024-09-01
        D1         | frame_width | 2100        | 3000  |
    """
    doors = (
        "install_id | crew | fitted_on | handed_over_on | surveyed_on\n D1 | A | 2024-01-10 | 2024-01-12 | 2023-12-01"
    )
    rows = run_model("data_checks", installs=doors, readings=readings)
    found = {name: (checked, failing) for name, checked, failing in rows.pick("check", "rows_checked", "rows_failing")}
    assert found["read up to handover and before the first callback"] == (3, 1)
    assert found["read on or after the survey"] == (3, 1)


def test_readings_that_only_say_ok_are_told(run_model):
    readings = """
        install_id | measure     | position_mm | value | written_unit | read_on
        D1         | frame_width | 0           | 3000  |              | 2024-01-09
        D1         | frame_width | 1000        |       | ok           | 2024-01-09
        D2         | head_gap    |             |       | ok           | 2024-01-09
    """
    checked, failing, sentence = checks(run_model, readings=readings)["readings tell a number"]
    assert (checked, failing) == (3, 2)
    assert sentence.startswith("2 of 3 readings only say that all was well")


def test_crews_that_differ_in_capitals_or_blanks_only_are_told(run_model):
    doors = """
        install_id | crew      | fitted_on
        D1         | Barn crew | 2024-01-10
        D2         | barn crew | 2024-01-10
        D3         | North     | 2024-01-10
    """
    found = run_model("data_checks", installs=doors).pick("check", "rows_checked", "rows_failing", "sentence")
    told = {row[0]: row[1:] for row in found}["each crew written in one way"]
    assert told[:2] == (3, 2)
    assert told[2].startswith("2 of 3 crews differ from another in capitals or blanks only")

"""The two tables that only the pages read: what was out by crew, and what each month saw."""

import pytest

DOORS = """
    install_id | crew | fitted_on
    D1         | A    | 2024-01-11
    D2         | A    | 2024-01-21
    D3         | B    | 2024-03-31
"""


def months(run_model, *columns, **given):
    given.setdefault("settings", "as_of\n 2024-04-20")
    return run_model("callback_months", installs=DOORS, **given).pick(*columns)


def test_every_month_from_the_first_door_to_the_last_day_has_its_days_at_risk(run_model):
    result = months(run_model, "month", "door_years")
    days = {month: round(years * 365.25, 6) for month, years in result}
    assert days == {"2024-01": 21 + 11, "2024-02": 58, "2024-03": 62 + 1, "2024-04": 19 * 3}


def test_the_months_add_up_to_the_door_time(run_model):
    door_time = run_model("door_time", installs=DOORS, settings="as_of\n 2024-04-20").pick("door_years")
    assert sum(months(run_model, "door_years")) == pytest.approx(sum(door_time))


CALLBACKS = """
    callback_id | install_id | reported_on | logged_on  | fault            | responsibility | cost
    C1          | D1         | 2024-02-03  | 2024-02-04 | draught; binding | installation   | 100
    C2          | D1         | 2024-02-20  | 2024-02-21 | draught          | installation   |
    C3          | D2         | 2024-02-03  | 2024-02-13 | draught          | weather        | 50
    C4          | D2         | 2024-04-02  | 2024-04-03 | draught          |                |
"""


def test_a_callback_counts_once_however_many_faults_and_repeats_and_others_do_not(run_model):
    result = months(run_model, "month", "callbacks", "callbacks_all", "cost", callbacks=CALLBACKS)
    assert result == [
        ("2024-01", 0, 0, None),
        ("2024-02", 1, 3, 150.0),
        ("2024-03", 0, 0, None),
        ("2024-04", 1, 1, None),
    ]


def test_a_month_is_complete_once_its_paper_can_have_arrived(run_model):
    result = months(
        run_model, "month", "arrived_share", "is_complete", callbacks=CALLBACKS, settings="as_of\n 2024-04-04"
    )
    assert result == [
        ("2024-01", 1.0, True),
        ("2024-02", 1.0, True),
        (
            "2024-03",
            pytest.approx(2 / 3),
            False,
        ),  # four days have passed; of three with ten days behind them one took ten
        ("2024-04", 0.0, False),
    ]


def test_a_month_that_still_runs_is_not_complete_and_its_last_day_ends_it(run_model):
    for last_day, is_complete in (("2024-04-29", False), ("2024-04-30", True)):
        callbacks = (
            "callback_id | install_id | reported_on | logged_on | fault\n C1 | D1 | 2024-02-03 | 2024-02-03 | draught"
        )
        result = months(run_model, "is_complete", callbacks=callbacks, settings=f"as_of\n {last_day}")
        assert result[-1] is is_complete


def test_a_monthly_rate_has_the_exact_interval(run_model):
    # 3 events in one month: 95 % limits of a Poisson mean of 3 are 0.6187 and 8.7673 (Garwood 1936, standard tables).
    counts = "month | door_years | callbacks | callbacks_all\n 2024-01 | 50 | 3 | 3"
    result = run_model("callback_months", month_counts=counts).pick("rate", "rate_low", "rate_high")
    assert result == [pytest.approx((6.0, 2 * 0.6187, 2 * 8.7673), rel=1e-4)]


def test_no_door_at_risk_gives_no_rate(run_model):
    counts = "month | door_years | callbacks | callbacks_all\n 2024-01 | 0 | 0 | 0"
    assert run_model("callback_months", month_counts=counts).pick("rate", "rate_high") == [(None, None)]


def outs(run_model, deviation, **given):
    rows = run_model("crew_outs", installs=DOORS, **given)
    picked = rows.pick("crew", "deviation", "doors", "doors_recorded", "doors_out", "doors_undecided", "doors_judged")
    return [(crew, *numbers) for crew, name, *numbers in picked if name == deviation]


def test_a_door_out_by_two_limits_counts_once(run_model):
    deviations = """
        install_id | deviation        | step | value
        D1         | sill_level_error | sill | 5.0
        D2         | sill_level_error | sill | 1.0
        D3         | sill_level_error | sill |
    """
    decisions = """
        install_id | limit | deviation        | decision
        D1         | one   | sill_level_error | out
        D1         | two   | sill_level_error | undecided
        D1         | three | sill_level_error | out
        D2         | one   | sill_level_error | undecided
        D3         | one   | sill_level_error | not recorded
    """
    result = outs(run_model, "sill_level_error", deviations=deviations, limit_decisions=decisions)
    assert result == [("A", 2, 2, 1, 1, 2), ("B", 1, 0, 0, 0, 0)]


def test_a_reading_that_no_limit_is_held_against_is_not_judged_one_within_is(run_model):
    deviations = """
        install_id | deviation   | step       | value
        D1         | head_bow    | frame      | 5.0
        D2         | head_bow    | frame      | 1.0
        D1         | sill_bow    | sill       | 1.0
    """
    decisions = "install_id | limit | deviation | decision\n D1 | one | sill_bow | within"
    given = {"deviations": deviations, "limit_decisions": decisions}
    assert outs(run_model, "head_bow", **given)[0] == ("A", 2, 2, 0, 0, 0)
    assert outs(run_model, "sill_bow", **given)[0] == ("A", 2, 1, 0, 0, 1)


def test_a_failed_check_is_out_without_a_limit(run_model):
    deviations = (
        "install_id | deviation | step | value\n D1 | toe_and_heel | glazing | 0.25\n D3 | toe_and_heel | glazing | 0"
    )
    assert outs(run_model, "toe_and_heel", deviations=deviations) == [("A", 2, 1, 1, 0, 1), ("B", 1, 1, 0, 0, 1)]


def test_a_deviation_that_nobody_recorded_has_a_row_for_every_crew(run_model):
    assert outs(run_model, "sill_bow") == [("A", 2, 0, 0, 0, 0), ("B", 1, 0, 0, 0, 0)]


def test_what_each_crew_recorded_of_each_step_is_counted_over_all_its_doors(run_model):
    result = run_model(
        "recorded_steps",
        staged_installs=DOORS,
        door_steps="install_id | step\n D1 | sill\n D2 | sill\n D1 | frame\n D3 | sill",
    ).pick("crew", "step", "step_order", "doors", "doors_recorded", "recorded_share")
    rows = {(crew, step): rest for crew, step, *rest in result}
    assert len(rows) == 3 * 8  # two crews and the firm, every step of the work
    assert rows["A", "sill"] == [2, 2, 2, 1.0]
    assert rows["A", "frame"] == [3, 2, 1, 0.5]
    assert rows["B", "frame"] == [3, 1, 0, 0.0]
    assert rows["all", "sill"] == [2, 3, 3, 1.0]
    assert rows["all", "frame"] == [3, 3, 1, pytest.approx(1 / 3)]
    assert rows["all", "glazing"] == [5, 3, 0, 0.0]

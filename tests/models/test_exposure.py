"""Door time and episodes: when a door is watched, and which calls are events."""

import pytest

ONE_DOOR = "install_id | crew | fitted_on  | handed_over_on\n D1 | A | 2024-01-01 | 2024-01-11"


def watch(run_model, installs: str, settings: str):
    return run_model("door_time", installs=installs, settings=settings).pick("entry_days", "exit_days", "ended_by")


def test_a_door_is_watched_from_handover_to_the_day_the_records_were_drawn(run_model):
    assert watch(run_model, ONE_DOOR, "as_of\n 2024-04-20") == [(0.0, 100.0, "as_of")]


def test_a_door_year_has_365_and_a_quarter_days(run_model):
    result = run_model("door_time", installs=ONE_DOOR, settings="as_of\n 2024-04-20")
    assert result.pick("door_years") == [pytest.approx(100 / 365.25)]


def test_a_door_fitted_before_the_log_is_complete_enters_late(run_model):
    settings = "as_of | callbacks_from\n 2024-04-20 | 2024-02-10"
    assert watch(run_model, ONE_DOOR, settings) == [(30.0, 100.0, "as_of")]


def test_a_removed_door_is_watched_no_longer(run_model):
    installs = "install_id | fitted_on | removed_on\n D1 | 2024-01-01 | 2024-01-31"
    assert watch(run_model, installs, "as_of\n 2024-04-20") == [(0.0, 30.0, "removed")]


@pytest.mark.parametrize(
    ("log_ends", "expected"), [("true", (0.0, 29.0, "warranty")), ("false", (0.0, 466.0, "as_of"))]
)
def test_the_end_of_warranty_ends_the_watch_only_where_the_log_ends_with_it(run_model, log_ends, expected):
    settings = f"as_of | warranty_months | log_ends_with_warranty\n 2025-05-11 | 1 | {log_ends}"
    installs = "install_id | fitted_on\n D1 | 2024-01-31"
    assert watch(run_model, installs, settings) == [expected]


def test_half_a_month_of_warranty_counts(run_model):
    settings = "as_of | warranty_months | log_ends_with_warranty\n 2025-05-11 | 1.5 | true"
    assert watch(run_model, "install_id | fitted_on\n D1 | 2024-01-01", settings) == [(0.0, 46.0, "warranty")]


def test_a_door_removed_before_the_log_is_complete_was_never_at_risk(run_model):
    result = run_model(
        "door_time",
        installs="install_id | fitted_on | removed_on\n D1 | 2020-01-01 | 2021-01-01",
        settings="as_of | callbacks_from\n 2025-01-01 | 2022-01-01",
    )
    assert result.pick("door_years") == [0.0]


def kinds(run_model, callbacks: str, settings: str = "as_of\n 2024-12-31", installs: str = ONE_DOOR):
    result = run_model("episodes", installs=installs, callbacks=callbacks, settings=settings)
    return result.pick("callback_id", "fault", "age_days", "kind")


def test_a_visit_within_28_days_of_the_one_before_belongs_to_its_episode_however_long_the_chain(run_model):
    callbacks = """
        callback_id | install_id | reported_on | fault
        C1          | D1         | 2024-02-01  | draught
        C2          | D1         | 2024-02-29  | draught
        C3          | D1         | 2024-03-28  | draught
        C4          | D1         | 2024-04-26  | draught
        C5          | D1         | 2024-02-02  | binding
    """
    assert [(row[0], row[3]) for row in kinds(run_model, callbacks)] == [
        ("C1", "episode"),
        ("C2", "repeat"),
        ("C3", "repeat"),
        ("C4", "episode"),
        ("C5", "episode"),
    ]


def test_the_repeat_window_is_the_firms_setting(run_model):
    callbacks = """
        callback_id | install_id | reported_on | fault
        C1          | D1         | 2024-02-01  | draught
        C2          | D1         | 2024-02-29  | draught
    """
    rows = kinds(run_model, callbacks, "as_of | repeat_days\n 2024-12-31 | 14")
    assert [row[3] for row in rows] == ["episode", "episode"]


def test_a_call_before_handover_is_a_snag_and_does_not_make_the_next_one_a_repeat(run_model):
    callbacks = """
        callback_id | install_id | reported_on | fault
        C1          | D1         | 2024-01-05  | draught
        C2          | D1         | 2024-01-20  | draught
    """
    assert kinds(run_model, callbacks) == [
        ("C1", "draught", -6.0, "pre_handover"),
        ("C2", "draught", 9.0, "episode"),
    ]


def test_a_call_on_the_day_of_handover_lies_inside_the_risk_time(run_model):
    callbacks = "callback_id | install_id | reported_on | fault\n C1 | D1 | 2024-01-11 | draught"
    assert kinds(run_model, callbacks) == [("C1", "draught", 0.5, "episode")]
    only_day = run_model("door_time", installs=ONE_DOOR, settings="as_of\n 2024-01-11")
    assert only_day.pick("entry_days", "exit_days") == [(0.0, 0.5)]


def test_calls_outside_the_watched_time_are_no_events_but_the_one_before_begins_the_episode(run_model):
    callbacks = """
        callback_id | install_id | reported_on | fault
        C1          | D1         | 2024-05-20  | draught
        C2          | D1         | 2024-06-01  | draught
        C3          | D1         | 2024-08-02  | draught
    """
    installs = "install_id | fitted_on | removed_on\n D1 | 2024-01-01 | 2024-08-01"
    rows = kinds(run_model, callbacks, "as_of | callbacks_from\n 2024-12-31 | 2024-06-01", installs)
    assert rows == [
        ("C1", "draught", 140.0, "outside"),
        ("C2", "draught", 152.5, "repeat"),
        ("C3", "draught", 214.0, "outside"),
    ]


def test_crews_answer_for_installation_and_unknown_but_never_for_no_fault(run_model):
    result = run_model("episodes", installs=ONE_DOOR, callbacks="""
        callback_id | install_id | reported_on | fault    | responsibility
        C1          | D1         | 2024-02-01  | draught  | installation
        C2          | D1         | 2024-02-01  | binding  |
        C3          | D1         | 2024-02-01  | noise    | use
        C4          | D1         | 2024-02-01  | no_fault | installation
    """)  # fmt: skip
    assert result.pick("is_answered_for") == [True, True, False, False]


def test_callbacks_of_no_known_door_are_left_out(run_model):
    callbacks = "callback_id | job_no | reported_on | fault\n C1 | J9 | 2024-02-01 | draught"
    assert kinds(run_model, callbacks) == []

"""The sums behind the linked sheet: they add up to what the other tables say, and what is pooled is pooled whole."""

import polars as pl
import pytest

from pipeline.stats.intervals import poisson_interval

DOORS = """
    install_id | crew | product | fitted_on
    D1         | A    | slim    | 2023-11-11
    D2         | A    |         | 2024-01-21
    D3         | B    | slim    | 2024-03-31
"""
CALLBACKS = """
    callback_id | install_id | reported_on | fault            | responsibility
    C1          | D1         | 2024-02-03  | draught; binding | installation
    C2          | D1         | 2024-02-20  | draught          | installation
    C3          | D2         | 2024-02-03  | draught          | weather
    C4          | D2         | 2024-04-02  | draught          |
"""
LAST_DAY = "as_of\n 2024-04-20"


def test_quarters_run_from_the_first_door_to_the_last_day(run_model):
    periods = run_model("explore_periods", installs=DOORS, settings=LAST_DAY)
    assert periods.pick("period", "is_complete") == [("2023-Q4", True), ("2024-Q1", True), ("2024-Q2", False)]


def test_what_came_before_the_last_twelve_quarters_is_one_period(run_model):
    periods = run_model("explore_periods", installs=DOORS, settings="as_of\n 2028-01-02").frame.sort("starts_on")
    assert periods.height == 13
    assert periods["period"].to_list()[:2] == ["before 2025-Q2", "2025-Q2"]
    assert periods["starts_on"].to_list()[1:] == periods["ends_on"].to_list()[:-1]
    assert str(periods["starts_on"][0]) == "2023-10-01"


@pytest.mark.parametrize("last_day", ["2024-04-20", "2028-01-02"])
def test_time_adds_up_to_the_door_time_and_callbacks_to_those_that_open_an_episode(run_model, last_day):
    given = {"installs": DOORS, "settings": f"as_of\n {last_day}"}
    time = run_model("explore_time", callbacks=CALLBACKS, **given).frame
    assert time["door_years"].sum() == pytest.approx(sum(run_model("door_time", **given).pick("door_years")))
    assert time["callbacks"].sum() == 2  # C1 once for two faults; C2 is a repeat, C3 nobody answers for


def test_a_callback_of_two_faults_counts_in_both(run_model):
    called = run_model("explore_faults", installs=DOORS, callbacks=CALLBACKS, settings=LAST_DAY)
    assert called.pick("crew", "product", "period", "fault", "callbacks") == [
        ("A", "not recorded", "2024-Q2", "draught", 1),
        ("A", "slim", "2024-Q1", "binding", 1),
        ("A", "slim", "2024-Q1", "draught", 1),
    ]


def test_a_door_watched_on_a_single_day_has_half_a_day(run_model):
    door = "install_id | crew | fitted_on\n D1 | A | 2024-04-01"
    time = run_model("explore_time", installs=door, settings="as_of\n 2024-04-01").frame
    assert time["door_years"].to_list() == [0.5 / 365.25]


def test_the_least_watched_crews_stand_together_and_nothing_is_lost(run_model):
    doors = pl.DataFrame(
        {
            "install_id": [f"D{crew}" for crew in range(62)],
            "crew": [f"crew {crew:02d}" for crew in range(62)],
            "fitted_on": [f"2024-01-{1 + crew % 2:02d}" for crew in range(62)],
        }
    ).with_columns(pl.col("fitted_on").str.to_date())
    given = {"installs": doors, "settings": LAST_DAY}
    time = run_model("explore_time", **given).frame
    assert time["crew"].n_unique() == 60
    names = run_model("explore_names", **given).frame.filter(pl.col("dimension") == "crew")
    pooled = names.filter(pl.col("label") == "other crews")["name"].to_list()
    assert pooled == ["crew 57", "crew 59", "crew 61"]  # fitted a day later than the even ones, last by name
    assert time["door_years"].sum() == pytest.approx(sum(run_model("door_time", **given).pick("door_years")))


def test_sixty_crews_stand_each_by_itself(run_model):
    doors = "\n".join(["install_id | crew | fitted_on", *(f"D{n} | crew {n} | 2024-01-01" for n in range(60))])
    names = run_model("explore_names", installs=doors, settings=LAST_DAY).frame
    crews = names.filter(pl.col("dimension") == "crew")
    assert crews["label"].to_list() == crews["name"].to_list()


def test_steps_count_doors_by_the_quarter_of_fitting(run_model):
    steps = """
        install_id | step | is_out | is_undecided
        D1         | sill | true   | false
        D2         | sill | false  | true
        D3         | sill | false  | false
    """
    found = run_model("explore_steps", staged_installs=STAGED, door_steps=steps, explore_names=NAMES, settings=LAST_DAY)
    assert found.pick("crew", "product", "period", "step", "doors", "doors_out", "doors_undecided") == [
        ("A", "not recorded", "2024-Q1", "sill", 1, 0, 1),
        ("A", "slim", "2023-Q4", "sill", 1, 1, 0),
        ("B", "slim", "2024-Q1", "sill", 1, 0, 0),
    ]


STAGED = """
    install_id | crew | product | fitted_on  | started_on
    D1         | A    | slim    | 2023-11-11 | 2023-11-11
    D2         | A    |         | 2024-01-21 | 2024-01-21
    D3         | B    | slim    | 2024-03-31 | 2024-03-31
"""
NAMES = """
    dimension | name         | label        | size
    crew      | A            | A            | 1
    crew      | B            | B            | 1
    product   | slim         | slim         | 1
    product   | not recorded | not recorded | 1
"""


def test_intervals_are_those_of_the_counts_and_end_with_them(run_model):
    time = "crew | product | period | door_years | callbacks\n A | slim | 2024-Q1 | 10 | 7"
    found = run_model("count_intervals", explore_time=time).frame
    exact = poisson_interval(list(range(8)))
    assert found["callbacks"].to_list() == list(range(8))
    assert found["low"].to_list() == pytest.approx(exact.low.tolist())
    assert found["high"].to_list() == pytest.approx(exact.high.tolist())

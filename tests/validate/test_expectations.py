"""Expectations on the records: each outcome in one sentence, and what cannot be evaluated is never a failed check."""

import os
import subprocess
import sys
from datetime import date

import numpy as np
import polars as pl
import pytest

from pipeline.catalogue import catalogue_tables, load_catalogue
from pipeline.errors import UserError

DOORS = """
    install_id | crew | fitted_on  | handed_over_on | width_mm | leaves | material
    D1         | A    | 2024-01-10 | 2024-01-12     | 3000     | 3      | pvc-u
    D2         | A    | 2024-02-10 | 2024-02-12     | 9000     | 1      | bamboo
    D3         | B    | 2024-03-10 |                |          |        |
"""


def row(name="ours", table="installs", expect="expect_column_values_to_be_between", words="", **keywords):
    return {"name": name, "table": table, "expect": expect, "with": keywords, **({"words": words} if words else {})}


@pytest.fixture
def outcomes(run_model):
    """Outcomes by expectation, of the given tables under the built-in expectations and a firm's own rows."""

    def evaluate(*own, **tables):
        catalogue = catalogue_tables(load_catalogue({"expectation": list(own)}))["catalogue_expectations"]
        found = run_model("expectation_checks", catalogue_expectations=catalogue, **tables)
        return {line["expectation"]: line for line in found.frame.to_dicts()}

    return evaluate


def test_a_firms_own_expectation_is_counted_with_an_example(outcomes):
    ours = row(column="width_mm", max_value=7000, words="doors are wider than we build; measure them again")
    found = outcomes(ours, staged_installs=DOORS)["ours"]
    assert found["sentence"] == "1 of 2 doors are wider than we build; measure them again."
    assert (found["outcome"], found["rows_checked"], found["rows_failing"]) == ("not met", 2, 1)
    assert (found["example"], found["is_own"]) == ("D2", True)


def test_a_firms_own_expectation_takes_the_place_of_a_built_in_one(outcomes):
    built_in = outcomes(staged_installs=DOORS)
    assert (built_in["two to eight leaves"]["outcome"], built_in["two to eight leaves"]["is_own"]) == ("not met", False)
    own = outcomes(row("two to eight leaves", column="leaves", min_value=1), staged_installs=DOORS)
    assert (own["two to eight leaves"]["outcome"], own["two to eight leaves"]["is_own"]) == ("met", True)
    assert len(own) == len(built_in)


def test_days_are_bounds_too_in_quotes_or_not(outcomes):
    for day in (date(2024, 2, 1), "2024-02-01"):
        found = outcomes(row(column="fitted_on", min_value=day), staged_installs=DOORS)["ours"]
        assert (found["outcome"], found["rows_checked"], found["rows_failing"]) == ("not met", 3, 1)


def test_some_rows_may_be_otherwise_where_the_expectation_allows_it(outcomes):
    found = outcomes(row(column="width_mm", max_value=7000, mostly=0.5), staged_installs=DOORS)["ours"]
    assert found["sentence"] == "As expected, 2 looked at: ours; 1 of 2 are otherwise, which is allowed."


BROKEN = [
    (row(column="widht_mm", max_value=1), "installs has no column 'widht_mm'; did you mean width_mm"),
    (row(expect="expect_column_values_to_be_betwen", column="leaves"), "did you mean expect_column_values_to_be_betw"),
    (row(expect="fly"), "'fly' is not an expectation; there is none of that name"),
    (row(column="leaves", maximum=3), "takes no 'maximum'"),
    (row(column="leaves", max_value="many"), "max_value is not of the kind that"),
    (row(expect="expect_column_values_to_be_in_set", value_set=["a"]), "needs 'column'"),
    (row(column="crew", max_value=3), "must either be None or of the same type"),
    (row(expect="expect_column_values_to_match_regex", column="crew", regex="("), "Invalid regular expression"),
    (row(expect="unexpected_rows_expectation", unexpected_rows_query="SELECT * FROM {batch}"), "No provider found"),
]


@pytest.mark.parametrize(("broken", "reason"), BROKEN, ids=[reason for _, reason in BROKEN])
def test_what_cannot_be_evaluated_is_said_as_such_in_one_sentence(outcomes, broken, reason):
    found = outcomes(broken, staged_installs=DOORS)
    assert found["ours"]["outcome"] == "not evaluated"
    assert found["ours"]["rows_failing"] is None
    sentence = found["ours"]["sentence"]
    assert sentence.startswith("Could not be evaluated, so it says nothing about the records: ours (")
    assert sentence.endswith("; correct [[expectation]] ours in fitback.toml.")
    assert reason in sentence
    assert "\n" not in sentence
    assert found["30 doors or more"]["outcome"] == "not met", "the others are evaluated all the same"


def test_without_rows_there_is_nothing_to_check_and_nothing_fails(outcomes):
    median = row(expect="expect_column_median_to_be_between", table="callbacks", column="cost", max_value=1)
    found = outcomes(median, staged_installs=DOORS)
    for name, line in found.items():
        if line["record"] != "installs":
            assert (line["outcome"], line["sentence"]) == ("nothing to check", f"Nothing to check: {name}.")
    assert found["leaves of 10 to 150 kg"]["outcome"] == "nothing to check"


DEVIANT = {
    "staged_installs": """
        install_id | crew | leaves | material | leaf_weight_kg | glass_mm
        D1         | A    | 12     | bamboo   | 400            | 200
        D2         | A    |        |          |                |
    """,
    "staged_callbacks": """
        callback_id | responsibility | hours
        C1          | unknown        | 90
    """,
    "crews": "crew | joined_on  | left_on\n A | 2024-01-01 | 2023-01-01",
    "training": "crew | step | trained_on | hours\n A | sill | 2024-01-01 | 400",
    "instruments": "instrument | kind\n tape 1 | tape",
    "reading_profile": """
        measure     | doors | readings | undated_share | unnamed_share | range
        frame_width | 2     | 4        | 1             | 1             | 0
    """,
    "check_profile": """
        check       | doors | ticks | failed_share | not_applicable_share
        sill_bedded | 9     | 9     | 1            | 0.9
    """,
}


def test_every_built_in_expectation_can_be_evaluated_and_can_fail(outcomes):
    found = outcomes(**DEVIANT)
    assert len(found) > 20
    assert {name: line["outcome"] for name, line in found.items() if line["outcome"] != "not met"} == {}
    assert not [line for line in found.values() if line["is_own"] or not line["sentence"].endswith(".")]


@pytest.mark.parametrize("mostly", [1.0, 0.9])
def test_counts_are_those_of_plain_arithmetic(outcomes, mostly):
    rng = np.random.default_rng(11)
    widths = [None if rng.random() < 0.2 else float(width) for width in rng.normal(4000, 600, 400).round()]
    doors = pl.DataFrame({"install_id": [f"D{n:03d}" for n in range(400)], "width_mm": widths})
    ours = row(column="width_mm", min_value=3000, max_value=5000, mostly=mostly)
    found = outcomes(ours, staged_installs=doors)["ours"]
    known = [width for width in widths if width is not None]
    outside = [number for number, width in enumerate(widths) if width is not None and not 3000 <= width <= 5000]
    assert (found["rows_checked"], found["rows_failing"]) == (len(known), len(outside))
    assert found["example"] == f"D{outside[0]:03d}"
    assert found["outcome"] == ("met" if len(outside) <= (1 - mostly) * len(known) else "not met")


def test_profiles_of_readings_and_checks_are_what_was_read_and_ticked(run_model):
    readings = """
        install_id | measure      | member | position_mm | value | instrument | read_on
        D1         | frame_width  |        | 0           | 3000  | tape 1     | 2024-01-11
        D1         | frame_width  |        | 900         | 3010  |            |
        D2         | frame_width  |        | 0           | 2990  | tape 1     | 2024-02-11
    """
    profile = run_model("reading_profile", installs=DOORS, readings=readings)
    columns = ("measure", "doors", "readings", "undated_share", "low", "high", "range")
    assert profile.pick(*columns) == [("frame_width", 2, 3, pytest.approx(1 / 3), 2990, 3010, 20)]
    ticks = """
        install_id | check       | outcome        | checked_on
        D1         | sill_bedded | fail           | 2024-01-11
        D2         | sill_bedded | pass           |
        D3         | sill_bedded | not_applicable | 2024-01-11
    """
    shares = pytest.approx(1 / 3)
    assert run_model("check_profile", checks=ticks) == [("sill_bedded", 3, 3, 0.5, shares, shares)]


@pytest.mark.parametrize(
    ("own", "sentence"),
    [
        ({"name": "a", "table": "doors", "expect": "x"}, "table 'doors' must be one of installs, callbacks"),
        ({"name": "a", "expect": "x"}, "[[expectation]] a: 'table' is missing; add it."),
        ({"name": "a", "tabel": "installs"}, "'tabel' is not a key of an expectation; did you mean table?"),
        ({"name": "a", "column": "x"}, "what the expectation takes stands under with = { ... }"),
        ({"name": "a", "with": "x"}, "with must be a table"),
        ({"name": 3}, "name = 3 must be a text."),
    ],
)
def test_a_row_that_is_no_expectation_is_refused_in_one_sentence(own, sentence):
    with pytest.raises(UserError) as caught:
        load_catalogue({"expectation": [own]})
    assert sentence in str(caught.value)
    assert "\n" not in str(caught.value)


def test_two_of_one_name_are_refused():
    with pytest.raises(UserError, match="this name stands twice"):
        load_catalogue({"expectation": [row(), row()]})


QUIET = """
import sys
reached = []
sys.addaudithook(lambda event, arguments: event in ("socket.connect", "socket.getaddrinfo") and reached.append(event))
import pipeline.cli, pipeline.run
assert "great_expectations" not in sys.modules, "imported by the command itself"
import polars as pl
from pipeline.validate.suites import evaluated
rows = [{"name": "a", "table": "t", "expect": "expect_column_values_to_be_unique",
         "arguments": '{"column": "k"}', "words": "", "is_own": False},
        {"name": "b", "table": "t", "expect": "unexpected_rows_expectation",
         "arguments": '{"unexpected_rows_query": "select 1"}', "words": "", "is_own": False}]
found = evaluated(rows, {"t": pl.DataFrame({"k": [1, 2, 2]})})
assert [each.outcome for each in found] == ["not met", "not evaluated"], found
assert not reached, reached
"""


def test_the_library_is_silent_writes_nothing_at_home_and_reaches_for_no_network(tmp_path):
    home = tmp_path / "home"
    home.mkdir()
    environment = {**os.environ, "HOME": str(home), "XDG_CACHE_HOME": str(home), "PYTHONDONTWRITEBYTECODE": "1"}
    environment.pop("GX_ANALYTICS_ENABLED", None)
    work = tmp_path / "work"
    work.mkdir()
    environment["PYTHONPATH"] = os.pathsep.join(sys.path)
    done = subprocess.run(
        [sys.executable, "-c", QUIET], cwd=work, env=environment, capture_output=True, text=True, check=False
    )
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")
    assert [*home.rglob("*"), *work.iterdir()] == []

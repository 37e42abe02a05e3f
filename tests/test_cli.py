"""What the commands print, and how they end. The job itself is put in by the tests; test_run.py runs it whole."""

import errno
import json
import os
import re
import subprocess
import sys
import types
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from importlib.metadata import version
from pathlib import Path
from typing import Any

import duckdb
import pytest
from typer.testing import CliRunner, Result

from pipeline.cli import app
from pipeline.errors import UserError
from pipeline.model_files import ModelError
from pipeline.summary import Account, Ahead, Cause, Rate, RunSummary

SUMMARY = RunSummary(
    out=Path("/somewhere/doors-fitback"),
    account=Account(61_234, 60_912, 301, 21, 0),
    rate=Rate(8.29, 7.61, 9.04, 512, 1_488, 6_169.4, 0, 512, True),
    cause=Cause(
        "sill_level_error", "water_ingress", "sill out of level", "water coming in", 2.41, 1.83, 3.14, 1_203, 93
    ),
    no_cause="",
    notes=("checks.csv is no longer there; its rows were kept.",),
    as_of=date(2025, 6, 30),
)

Invoke = Callable[..., Result]


@pytest.fixture
def invoke(monkeypatch, tmp_path) -> Invoke:
    """Runs a command whose job returns the given summary, or raises the given error."""

    def run(*arguments: str, job: RunSummary | BaseException = SUMMARY) -> Result:
        def done(*_: Any) -> RunSummary:
            if isinstance(job, BaseException):
                raise job
            return job

        jobs = types.SimpleNamespace(run_firm=done, run_demo=done, check_firm=done)
        for name in ("pipeline.run", "pipeline.check"):
            monkeypatch.setitem(sys.modules, name, jobs)
        return CliRunner().invoke(app, list(arguments))

    return run


def test_run_prints_the_answers(invoke):
    result = invoke("run", "doors")
    assert result.exit_code == 0
    assert result.stdout.splitlines() == [
        "checks.csv is no longer there; its rows were kept.",
        "Read 61,234 rows: 60,912 taken in, 301 set aside, 21 exact repeats.",
        "Callback rate to 2025-06-30: 8.3 per 100 door-years (95 % 7.6 to 9.0; 512 callbacks, 1,488 doors, "
        "6,169 door-years).",
        "Strongest cause: sill out of level, for water coming in: 2.4 times as many callbacks at its worse end as at "
        "its better (95 % 1.8 to 3.1; 1,203 doors, 93 first callbacks); an association, not proof.",
        "Pages:  /somewhere/doors-fitback/pages/index.html",
        "Tables: /somewhere/doors-fitback/tables",
    ]


@pytest.mark.parametrize(
    ("rate", "seen"),
    [
        (Rate(269_472.6, 6_822.4, 1_501_404.1, 1, 1, 1 / 2695, 0, 1, True), "1 callback, 1 door, 0.0 door-years"),
        (Rate(None, None, None, 0, 2, 0.0, 0, 0, True), "0 callbacks, 2 doors, 0.0 door-years"),
    ],
)
def test_less_than_one_door_year_gives_no_rate(invoke, rate, seen):
    lines = invoke("run", "doors", job=replace(SUMMARY, rate=rate)).stdout.splitlines()
    assert lines[2] == f"Callback rate to 2025-06-30: too few door-years to tell ({seen})."


def test_without_a_callback_log_no_rate_is_told(invoke):
    rate = Rate(None, None, None, 0, 1494, 1767.0, 0, 0, False)
    assert invoke("run", "doors", job=replace(SUMMARY, rate=rate)).stdout.splitlines()[2] == (
        "Callback rate to 2025-06-30: no callback log came with the records; add callbacks.csv (0 callbacks, 1,494 "
        "doors, 1,767 door-years)."
    )


def test_a_callback_log_that_could_not_be_read_is_not_said_to_be_missing(invoke):
    rate = Rate(None, None, None, 0, 12, 1.6, 0, 0, False, True)
    assert invoke("run", "doors", job=replace(SUMMARY, rate=rate)).stdout.splitlines()[2] == (
        "Callback rate to 2025-06-30: no callback log could be read; mend the file that was refused (0 callbacks, 12 "
        "doors, 1.6 door-years)."
    )


def test_callbacks_that_no_door_is_known_for_are_said_beside_the_rate(invoke):
    unlinked = replace(SUMMARY.rate, unlinked=480, logged=512)
    lines = invoke("run", "doors", job=replace(SUMMARY, rate=unlinked)).stdout.splitlines()
    assert lines[2].endswith("; 480 of 512 callbacks linked to no door, so not counted).")


def test_callbacks_that_crews_do_not_answer_for_are_said_beside_the_rate(invoke):
    both = replace(SUMMARY.rate, others=85, unlinked=38, logged=635)
    for rate, told in (
        (both, "; 85 more not the crews' to answer for and 38 of 635 callbacks linked to no door, so not counted)."),
        (replace(both, unlinked=0), "; 85 more not the crews' to answer for, so not counted)."),
    ):
        lines = invoke("run", "doors", job=replace(SUMMARY, rate=rate)).stdout.splitlines()
        assert lines[2].endswith(told)


def test_json_says_the_same_and_nothing_else_on_standard_output(invoke):
    answers = json.loads(invoke("run", "doors", "--json").stdout)
    assert answers["rows"]["rows_set_aside"] == 301
    assert answers["as_of"] == "2025-06-30"
    assert answers["callback_rate"] == vars(SUMMARY.rate)
    assert answers["strongest_cause"]["ratio"] == 2.41
    assert answers["pages"] == "/somewhere/doors-fitback/pages/index.html"


def test_what_is_coming_is_told_with_its_interval_and_cost(invoke):
    ahead = Ahead(668.7, 561.0, 779.4, 83_412.0, 66_020.0, 103_560.0, "GBP")
    lines = invoke("run", "doors", job=replace(SUMMARY, ahead=ahead)).stdout.splitlines()
    assert "Next twelve months: 670 (95 % 560 to 780) callbacks, GBP 83,000 (95 % 66,000 to 104,000)." in lines
    lines = invoke("run", "doors", job=replace(SUMMARY, ahead=replace(ahead, cost=None))).stdout.splitlines()
    assert "Next twelve months: 670 (95 % 560 to 780) callbacks." in lines
    answers = json.loads(invoke("run", "doors", "--json", job=replace(SUMMARY, ahead=ahead)).stdout)
    assert answers["next_twelve_months"]["callbacks"] == 668.7
    assert json.loads(invoke("run", "doors", "--json").stdout)["next_twelve_months"] is None


def test_the_workbook_is_named_last(invoke):
    done = replace(SUMMARY, book=Path("/somewhere/doors-fitback/fitback.xlsx"))
    assert invoke("run", "doors", job=done).stdout.splitlines()[-1] == "Book:   /somewhere/doors-fitback/fitback.xlsx"


def test_strict_ends_with_1_only_when_something_was_set_aside(invoke):
    assert invoke("run", "doors", "--strict").exit_code == 1
    clean = replace(SUMMARY, account=Account(5, 4, 0, 1, 0))
    assert invoke("run", "doors", "--strict", job=clean).exit_code == 0
    refused = replace(SUMMARY, account=Account(5, 5, 0, 0, 1))
    assert invoke("run", "doors", "--strict", job=refused).exit_code == 1


def test_what_the_user_can_mend_is_one_sentence_and_ends_with_2(invoke):
    result = invoke("run", "doors", job=UserError("installs.csv is empty; add the doors."))
    assert (result.exit_code, result.stdout, result.stderr) == (2, "", "installs.csv is empty; add the doors.\n")


def test_our_own_fault_is_one_sentence_and_its_traceback_is_logged_without_what_records_hold(invoke, tmp_path):
    result = invoke("run", "doors", "--out", str(tmp_path), job=ValueError("could not read 'Mrs Example, 1 Street'"))
    assert result.exit_code == 3
    assert result.stderr == (
        "fitback failed through a fault of its own (ValueError); nothing was put in place; "
        f"the details are in {tmp_path / 'fitback.log'}.\n"
    )
    log = (tmp_path / "fitback.log").read_text(encoding="utf-8")
    assert "pipeline/cli.py, line" in log
    assert "ValueError" in log
    assert "Example" not in log
    assert str(Path.cwd()) not in log


def test_a_fault_of_a_model_names_the_model(invoke, tmp_path):
    fault = ModelError("marts/effects.py: the key must be whole and unique; 2 rows have fault = 'x'")
    result = invoke("run", "doors", "--out", str(tmp_path), job=fault)
    assert result.exit_code == 3
    assert "marts/effects.py: the key must be whole" in result.stderr
    assert "marts/effects.py: the key must be whole" in (tmp_path / "fitback.log").read_text(encoding="utf-8")


def interrupted_by_the_database() -> Exception:
    """What DuckDB's Python layer makes of Ctrl-C, in the error that another library makes of that."""
    try:
        try:
            raise RuntimeError("Query interrupted")
        except RuntimeError as error:
            raise ValueError("the SQL could not be run") from error
    except ValueError as error:
        return error


@pytest.mark.parametrize(
    "stop", [KeyboardInterrupt(), RuntimeError("Query interrupted"), interrupted_by_the_database()]
)
def test_ctrl_c_is_one_sentence_and_ends_with_130(invoke, tmp_path, stop):
    result = invoke("run", "doors", "--out", str(tmp_path), job=stop)
    assert (result.exit_code, result.stderr) == (130, "Stopped; nothing was put in place.\n")
    (tmp_path / "results.duckdb").touch()
    result = invoke("run", "doors", "--out", str(tmp_path), job=KeyboardInterrupt())
    assert (result.exit_code, result.stderr) == (130, "Stopped; the last results are as they were.\n")


@pytest.mark.parametrize(
    ("error", "sentence"),
    [
        (PermissionError(13, "Permission denied", "/out/x"), "/out/x: fitback may not write here; choose another"),
        (MemoryError(), "The job needs more memory than 600MB; set FITBACK_MEMORY to more, for instance 2GB."),
        (OSError(28, "No space left on device", "/out/x"), "/out/x: the disk is full; free some space and run again."),
        (OSError(errno.EFBIG, "File too large", "/out/x"), "/out/x: a file there may grow no larger; let it"),
        (OSError(errno.EDQUOT, "Disk quota exceeded", "/out/x"), "/out/x: your share of the disk is used up; free"),
        (
            duckdb.TransactionException(f"Failed to commit: Could not write: {os.strerror(errno.ENOSPC)}"),
            "The output folder: the disk is full; free some space and run again.",
        ),
    ],
)
def test_a_disk_that_refuses_is_one_sentence(invoke, error, sentence):
    result = invoke("run", "doors", job=error)
    assert result.exit_code == 2
    assert result.stderr.startswith(sentence)


@pytest.mark.parametrize("arguments", [(), ("run",), ("run", "a", "--colour"), ("walk",)])
def test_a_command_that_is_not_whole_ends_with_2(invoke, arguments):
    result = invoke(*arguments)
    assert result.exit_code == 2
    assert "Traceback" not in result.output


@pytest.mark.parametrize("command", ["demo", "run", "check"])
def test_every_command_has_help_with_an_example(invoke, command):
    text = invoke(command, "--help").stdout
    assert f"fitback {command}" in text.split("Example", 1)[1]


def test_the_list_of_commands_is_cut_nowhere(invoke):
    told = invoke("--help").stdout.split("Commands:")[1]
    assert "..." not in told
    assert re.search(r"recheck +Tell what to look at again on doors not yet handed over\.", told)


@pytest.mark.parametrize("command", ["run", "check"])
def test_help_names_its_folder_plainly(invoke, command):
    assert invoke(command, "--help").stdout.splitlines()[0].endswith(f" {command} [OPTIONS] FOLDER")


def test_help_keeps_an_example_on_one_line(invoke):
    assert "    fitback run doors2025 --out results --json" in invoke("run", "--help").stdout.splitlines()


def test_the_version_is_told(invoke):
    result = invoke("--version")
    assert (result.exit_code, result.stdout) == (0, f"fitback {version('fitback')}\n")


HEAVY = ("altair", "duckdb", "numpy", "openpyxl", "pandas", "polars", "pyarrow", "rich", "scipy", "sqlglot")


def test_help_loads_no_heavy_library():
    script = (
        "import sys; sys.argv = ['fitback', '--help']\n"
        "from pipeline.cli import main\n"
        "try: main()\n"
        f"finally: print('loaded', [name for name in {HEAVY} if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "loaded []"


def test_help_takes_at_most_three_times_the_import_of_typer():
    import time

    def fastest(code: str) -> float:
        times = []
        for _ in range(5):
            started = time.perf_counter()
            subprocess.run([sys.executable, "-c", code], stdout=subprocess.DEVNULL, check=True)
            times.append(time.perf_counter() - started)
        return min(times)

    start, typer = fastest("pass"), fastest("import typer")
    fitback = fastest("import sys; sys.argv = ['fitback', '--help']\nfrom pipeline.cli import main\nmain()")
    assert fitback - start <= 3 * (typer - start)


def test_output_that_a_terminal_cannot_show_breaks_nothing():
    script = "from pipeline.cli import main; import sys; sys.argv = ['fitback', 'run', 'Türen…']\nmain()"
    environment = {**os.environ, "PYTHONIOENCODING": "ascii"}
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, env=environment, check=False)
    assert done.returncode in (2, 3)
    assert b"Traceback" not in done.stderr


def test_the_command_and_the_pages_tell_a_rate_from_the_same_bound_on():
    from pipeline import summary
    from pipeline.report.rows import table_rows

    assert summary.LEAST_DOOR_YEARS == table_rows.LEAST_DOOR_YEARS


@pytest.mark.parametrize(
    ("command", "argument"), [("run", "FOLDER"), ("check", "FOLDER"), ("match", "FILE..."), ("door", "ID")]
)
def test_usage_names_the_argument_plainly(command, argument):
    told = CliRunner().invoke(app, [command, "--help"]).stdout
    assert f"{command} [OPTIONS] {argument}\n" in told

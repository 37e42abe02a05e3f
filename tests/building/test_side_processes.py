"""Processes beside the first do what they are handed, leave what fails to it, and end with it."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from pipeline.building.build import build_results
from pipeline.building.side_processes import Done, Job, SideProcesses, beside
from pipeline.model_files import ModelError
from pipeline.progress import Silence
from pipeline.warehouse import open_results
from tests.building.conftest import graph_of


@pytest.fixture(scope="module")
def side():
    """One process, ready."""
    sides = SideProcesses(1)
    yield ready(sides)
    sides.end()


def ready(sides: SideProcesses) -> SideProcesses:
    deadline = time.monotonic() + 60
    while not sides.has_free and time.monotonic() < deadline:
        assert sides.finished() == []
        time.sleep(0.02)
    assert sides.has_free
    return sides


def answer(sides: SideProcesses, job: Job) -> Done:
    sides.begin(job)
    assert (sides.has_free, sides.jobs) == (False, {job.name})
    (done,) = sides.finished(can_wait=True)
    assert (sides.has_free, sides.jobs) == (True, set())
    return done


def test_a_job_is_done_in_another_process(side):
    done = answer(side, Job("who", os.getpid, ()))
    assert (done.job, done.has_failed) == ("who", False)
    assert done.value != os.getpid()


def test_what_a_job_prints_is_no_answer(side):
    assert answer(side, Job("noise", print, ("some words",))) == Done("noise", None, has_failed=False)


@pytest.mark.parametrize(
    "job",
    [
        pytest.param(Job("number", int, ("seven",)), id="raises"),
        pytest.param(Job("file", open, (os.devnull,)), id="gives what cannot be handed back"),
    ],
)
def test_what_fails_is_told_as_failed_and_the_process_goes_on(side, job):
    assert answer(side, job).has_failed
    assert answer(side, Job("sum", sum, ([1, 2],))).value == 3


def test_all_jobs_are_done_beside_or_here(side, tmp_path):
    for number, sides in enumerate((side, SideProcesses(0))):
        folders = [tmp_path / f"{number} {name}" for name in "abc"]
        sides.do_all([Job(folder.name, os.mkdir, (folder,)) for folder in folders])
        assert all(folder.is_dir() for folder in folders)


def test_a_job_that_fails_beside_fails_here_with_its_own_error(side):
    with pytest.raises(ValueError, match="seven"):
        side.do_all([Job("number", int, ("seven",))])


def test_few_doors_and_very_many_are_not_worth_other_processes():
    for n_doors in (0, 499, 50_001):
        with beside(n_doors) as sides:
            assert sides.count == 0


def test_where_no_process_can_be_begun_the_first_does_all(monkeypatch, tmp_path):
    monkeypatch.setattr(sys, "executable", str(tmp_path / "no python"))
    with beside(1000) as sides:
        assert sides.count == 0
        sides.do_all([Job("made", os.mkdir, (tmp_path / "made",))])
    assert (tmp_path / "made").is_dir()


def test_tables_made_beside_are_those_made_here(side, small_models, inputs, tmp_path):
    graph = graph_of(small_models)
    for name, sides in (("here", None), ("beside", side)):
        report = build_results(inputs, tmp_path / name, Silence(), graph, sides)
        assert [table.table for table in report.tables] == list(graph.models)
    with open_results(tmp_path / "here") as one, open_results(tmp_path / "beside") as other:
        for table in ("crew_sizes", "doors"):
            query = f"FROM {table} ORDER BY ALL"
            assert one.execute(query).fetchall() == other.execute(query).fetchall()


PARTED = '''"""numbered: numbers from 0.
grain: one row per number
key: n
columns:
  n      integer  key
  of     integer  parts that the table was made in
"""

import polars as pl


def build(doors, part):
    """Every number below ten that falls to the part."""
    number, count = part
    return pl.DataFrame({"n": range(number, 10, count)}).with_columns(of=pl.lit(count))
'''


def test_a_table_is_made_in_parts_that_together_are_the_whole(side, small_models, inputs, tmp_path):
    (small_models / "marts/numbered.py").write_text(PARTED, encoding="utf-8")
    for name, sides, count in (("here", None, 1), ("beside", side, 2)):
        build_results(inputs, tmp_path / name, Silence(), graph_of(small_models), sides)
        with open_results(tmp_path / name) as results:
            assert results.execute("FROM numbered ORDER BY n").fetchall() == [(n, count) for n in range(10)]


def test_a_model_that_fails_beside_is_named_as_here(side, small_models, inputs, tmp_path):
    path = next(small_models.rglob("crew_sizes.py"))
    path.write_text(path.read_text(encoding="utf-8").replace("    return ", "    1 / 0\n    return "), encoding="utf-8")
    with pytest.raises(ModelError, match=r"crew_sizes\.py failed: ZeroDivisionError"):
        build_results(inputs, tmp_path / "results.duckdb", Silence(), graph_of(small_models), side)


def test_a_process_that_dies_leaves_its_job_to_the_first(tmp_path):
    sides = ready(SideProcesses(1))
    try:
        pid = answer(sides, Job("who", os.getpid, ())).value
        sides.begin(Job("long", time.sleep, (60,)))
        os.kill(pid, signal.SIGKILL)
        assert sides.finished(can_wait=True) == [Done("long", None, has_failed=True)]
        assert sides.count == 0
        sides.do_all([Job("made", os.mkdir, (tmp_path / "made",))])
        assert (tmp_path / "made").is_dir()
    finally:
        sides.end()


FIRST = """
import os, time
from pipeline.building.side_processes import Job, SideProcesses
sides = SideProcesses(1)
while not sides.has_free:
    sides.finished()
sides.begin(Job("who", os.getpid, ()))
print(sides.finished(can_wait=True)[0].value, flush=True)
sides.begin(Job("long", time.sleep, (60,)))
time.sleep(60)
"""


@pytest.mark.skipif(not Path("/proc").is_dir(), reason="asks the system for its processes")
def test_they_end_with_the_first_however_that_ends():
    first = subprocess.Popen([sys.executable, "-c", FIRST], stdout=subprocess.PIPE, text=True)
    assert first.stdout is not None
    beside_it = Path("/proc") / first.stdout.readline().strip()
    assert beside_it.is_dir()
    first.kill()
    first.wait()
    deadline = time.monotonic() + 10
    while beside_it.is_dir() and time.monotonic() < deadline:
        time.sleep(0.02)
    assert not beside_it.is_dir()

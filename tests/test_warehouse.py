"""Databases are opened within memory, held ones are named, and an output folder serves one run at a time."""

import subprocess
import sys
import time

import duckdb
import pytest

from pipeline.errors import UserError
from pipeline.folders import left_as_found
from pipeline.warehouse import attach, connect, locked, open_results

HOLDS_A_DATABASE = "import duckdb, sys\nc = duckdb.connect(sys.argv[1])\nprint('held', flush=True)\nsys.stdin.read()"
HOLDS_THE_FOLDER = (
    "import sys\nfrom pathlib import Path\nfrom pipeline.warehouse import locked\n"
    "with locked(Path(sys.argv[1])):\n    print('held', flush=True)\n    sys.stdin.read()"
)


@pytest.fixture
def held_elsewhere():
    """Starts another process that holds something until the test ends."""
    processes = []

    def hold(script: str, path: str) -> subprocess.Popen[str]:
        command = [sys.executable, "-c", script, path]
        process = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
        processes.append(process)
        assert process.stdout is not None
        assert process.stdout.readline() == "held\n"
        return process

    yield hold
    for process in processes:
        process.kill()
        process.communicate()


def test_results_open_read_only_with_bare_names(tmp_path):
    path = tmp_path / "it's results.duckdb"
    with duckdb.connect(path) as connection:
        connection.execute("CREATE TABLE effects AS SELECT 1 AS a")
    with open_results(path) as results:
        assert results.execute("FROM effects").fetchall() == [(1,)]
        with pytest.raises(duckdb.Error, match="read-only"):
            results.execute("DROP TABLE effects")


def test_results_that_are_not_there_are_named(tmp_path):
    with pytest.raises(UserError, match=r"results\.duckdb does not exist; make it with fitback run first\."):
        open_results(tmp_path / "results.duckdb")


def test_a_database_open_elsewhere_is_one_sentence_with_the_process(tmp_path, held_elsewhere):
    path = tmp_path / "results.duckdb"
    process = held_elsewhere(HOLDS_A_DATABASE, str(path))
    with connect() as connection, pytest.raises(UserError) as caught:
        attach(connection, path, "results")
    assert str(caught.value) == (
        f"{path} is open in another program (process {process.pid}); close it there and try again."
    )


def test_a_second_run_waits_shortly_and_then_says_who_is_in_the_way(tmp_path, held_elsewhere):
    held_elsewhere(HOLDS_THE_FOLDER, str(tmp_path))
    started = time.monotonic()
    with pytest.raises(UserError, match="Another fitback run is writing into"), locked(tmp_path, wait_seconds=0.3):
        pass
    assert 0.3 <= time.monotonic() - started < 5


def test_a_lock_ends_with_its_process_however_it_ends(tmp_path, held_elsewhere):
    process = held_elsewhere(HOLDS_THE_FOLDER, str(tmp_path))
    process.kill()
    process.wait()
    with locked(tmp_path, wait_seconds=5):
        pass


def test_memory_is_limited_and_may_be_set(tmp_path, monkeypatch):
    def limit() -> str:
        with connect() as connection:
            return connection.execute("SELECT current_setting('memory_limit')").fetchall()[0][0]

    assert limit() == "572.2 MiB"  # 600 MB
    monkeypatch.setenv("FITBACK_MEMORY", "2GB")
    assert limit() == "1.8 GiB"


def test_no_progress_bar_of_the_database_spoils_piped_output():
    with connect() as connection:
        assert connection.execute("SELECT current_setting('enable_progress_bar')").fetchall() == [(False,)]


def test_a_lock_whose_folder_was_taken_away_meanwhile_is_no_lock(tmp_path, held_elsewhere):
    folder = tmp_path / "out"
    process = held_elsewhere(HOLDS_THE_FOLDER, str(folder))
    (folder / ".lock").unlink()
    with locked(folder, wait_seconds=5):
        assert (folder / ".lock").exists()
        with pytest.raises(UserError, match="Another fitback run"), locked(folder, wait_seconds=0):
            pass
    process.kill()


def test_a_run_that_gives_way_to_another_leaves_the_others_folder_alone(tmp_path, held_elsewhere):
    folder = tmp_path / "out"

    def give_way() -> None:
        with left_as_found(folder):
            held_elsewhere(HOLDS_THE_FOLDER, str(folder))  # begun after this run looked, before it held the folder
            (folder / "at work").touch()
            with locked(folder, wait_seconds=0):
                pass

    with pytest.raises(UserError, match="Another fitback run"):
        give_way()
    assert (folder / "at work").exists()

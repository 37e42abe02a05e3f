"""New results come into place together, and a run stopped at any moment loses nothing."""

import subprocess
import sys
import textwrap
import zipfile
from pathlib import Path

import pytest

from pipeline import publish, rewriting
from pipeline.errors import UserError


def build_aside(out: Path, run_id: str) -> None:
    """Lays whole results of one run where `prepare` says."""
    next_folder = publish.prepare(out)
    (next_folder / "results.duckdb").write_text(run_id)
    for name in publish.FOLDERS:
        (next_folder / name).mkdir()
        (next_folder / name / "content.txt").write_text(run_id)
    write_book(next_folder / "fitback.xlsx", run_id)


def write_book(path: Path, content: str, creator: str = "fitback") -> None:
    """What tells a workbook of ours from others, and a text."""
    with zipfile.ZipFile(path, "w") as parts:
        parts.writestr("docProps/core.xml", f"<core><dc:creator>{creator}</dc:creator></core>")
        parts.writestr("content", content)


def book_content(path: Path) -> str:
    with zipfile.ZipFile(path) as parts:
        return parts.read("content").decode()


def run(out: Path, run_id: str) -> None:
    build_aside(out, run_id)
    publish.publish(out, run_id)


def contents(out: Path) -> list[str]:
    texts = [(out / name).read_text() for name in ("results.duckdb", "tables/content.txt", "pages/content.txt")]
    return [*texts, book_content(out / "fitback.xlsx")]


def test_the_first_run_puts_all_in_place(tmp_path):
    run(tmp_path, "one")
    assert contents(tmp_path) == ["one"] * 4
    assert (tmp_path / "tables/run.txt").read_text() == (tmp_path / "pages/run.txt").read_text() == "one\n"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["fitback.xlsx", "pages", "results.duckdb", "tables"]


@pytest.mark.parametrize("can_exchange", [True, False])
@pytest.mark.parametrize("can_link", [True, False])
def test_the_results_before_stay_as_previous(tmp_path, monkeypatch, can_exchange, can_link):
    if not can_exchange:
        monkeypatch.setattr(publish, "_exchange", lambda one, other: False)
    if not can_link:
        monkeypatch.setattr(Path, "hardlink_to", lambda self, target: (_ for _ in ()).throw(OSError("no links")))
    for run_id in ("one", "two", "three"):
        run(tmp_path, run_id)
    assert contents(tmp_path) == ["three"] * 4
    assert (tmp_path / "results.previous.duckdb").read_text() == "two"
    names = ["fitback.xlsx", "pages", "results.duckdb", "results.previous.duckdb", "tables"]
    assert sorted(path.name for path in tmp_path.iterdir()) == names


def test_a_half_built_run_is_cleared_by_the_next(tmp_path):
    run(tmp_path, "one")
    build_aside(tmp_path, "two")
    assert not publish.complete(tmp_path)
    assert list(publish.prepare(tmp_path).iterdir()) == []
    assert contents(tmp_path) == ["one"] * 4


def test_a_build_that_fails_leaves_nothing_aside(tmp_path):
    run(tmp_path, "one")

    def build_and_break() -> None:
        with publish.built_aside(tmp_path) as folder:
            (folder / "results.duckdb").write_text("half")
            raise RuntimeError("broken")

    with pytest.raises(RuntimeError, match="broken"):
        build_and_break()
    assert not (tmp_path / ".next").exists()
    assert contents(tmp_path) == ["one"] * 4


def test_a_folder_that_is_not_fitbacks_own_is_never_replaced(tmp_path):
    (tmp_path / "tables").mkdir()
    (tmp_path / "tables/mine.csv").write_text("keep me")
    with pytest.raises(UserError, match="tables was not written by fitback; choose another output folder"):
        publish.prepare(tmp_path)
    assert (tmp_path / "tables/mine.csv").read_text() == "keep me"


def test_a_file_open_elsewhere_is_tried_again(tmp_path, monkeypatch):
    build_aside(tmp_path, "one")
    replace, refusals = Path.replace, iter([True, True])

    def refuse_twice(self: Path, target: Path) -> Path:
        if self.name == "results.duckdb" and next(refusals, False):
            raise PermissionError
        return replace(self, target)

    monkeypatch.setattr(Path, "replace", refuse_twice)
    monkeypatch.setattr(rewriting, "_WAIT_SECONDS", 0.001)
    publish.publish(tmp_path, "one")
    assert contents(tmp_path) == ["one"] * 4


def test_a_file_that_stays_open_is_one_sentence_and_the_next_run_completes(tmp_path, monkeypatch):
    run(tmp_path, "one")
    build_aside(tmp_path, "two")
    replace = Path.replace

    def refuse(self: Path, target: Path) -> Path:
        if self.name == "results.duckdb":
            raise PermissionError
        return replace(self, target)

    with monkeypatch.context() as patched:
        patched.setattr(Path, "replace", refuse)
        patched.setattr(rewriting, "_WAIT_SECONDS", 0.001)
        with pytest.raises(UserError, match=r"results\.duckdb is open in another program; close it there"):
            publish.publish(tmp_path, "two")
    assert contents(tmp_path) == ["one"] * 4
    publish.prepare(tmp_path)
    assert contents(tmp_path) == ["two"] * 4


# Kills a process of its own just before the n-th change that it makes to the file system, for every n.
KILLED_AT_EVERY_MOMENT = textwrap.dedent(
    """
    import os, shutil, sys, zipfile
    from pathlib import Path
    from pipeline import publish

    def text_of(path):
        return zipfile.ZipFile(path).read("content").decode() if path.suffix == ".xlsx" else path.read_text()

    CHANGES = ("os.rename", "os.link", "os.remove", "os.mkdir", "os.rmdir", "ctypes.call_function")
    start, work, can_exchange = Path(sys.argv[1]), Path(sys.argv[2]), sys.argv[3] == "True"
    if not can_exchange:
        publish._exchange = lambda one, other: False

    def until_killed(moment):
        left = iter(range(moment))
        def hook(event, arguments):
            writes = event == "open" and isinstance(arguments[1], str) and set(arguments[1]) & set("wax+")
            if (event in CHANGES or writes) and next(left, None) is None:
                os._exit(9)
        sys.addaudithook(hook)
        publish.publish(work, "two")
        os._exit(0)

    moment, status = 0, 9
    while status:
        shutil.rmtree(work, ignore_errors=True)
        shutil.copytree(start, work)
        child = os.fork()
        if child == 0:
            until_killed(moment)
        status = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
        assert status in (0, 9), status
        names = ("results.duckdb", "tables/content.txt", "pages/content.txt", "fitback.xlsx")
        stopped = [text_of(work / name) if (work / name).exists() else "gone" for name in names]
        publish.prepare(work)
        completed = [text_of(work / name) for name in names]
        print(*stopped, *completed)
        moment += 1
    """
)


@pytest.mark.skipif(sys.platform == "win32", reason="forks")
@pytest.mark.parametrize("can_exchange", [True, False])
def test_a_run_killed_at_any_moment_leaves_readable_results_that_the_next_run_completes(tmp_path, can_exchange):
    run(tmp_path / "start", "zero")
    run(tmp_path / "start", "one")
    build_aside(tmp_path / "start", "two")
    arguments = [str(tmp_path / "start"), str(tmp_path / "work"), str(can_exchange)]
    command = [sys.executable, "-c", KILLED_AT_EVERY_MOMENT, *arguments]
    done = subprocess.run(command, capture_output=True, text=True, timeout=120, check=False)
    assert done.returncode == 0, done.stderr
    moments = [line.split() for line in done.stdout.splitlines()]
    assert len(moments) > 12, "too few moments were tried"
    for stopped, completed in ((moment[:4], moment[4:]) for moment in moments):
        assert stopped[0] in ("one", "two")
        assert completed in (["one"] * 4, ["two"] * 4)
        if can_exchange:
            assert "gone" not in stopped
        if stopped != ["one"] * 4:
            assert completed == ["two"] * 4
    assert moments[0][4:] == ["one"] * 4
    assert moments[-1][:4] == ["two"] * 4


@pytest.mark.parametrize("mark", ["~$fitback.xlsx", ".~lock.fitback.xlsx#"])
def test_a_workbook_that_is_open_elsewhere_stays_and_the_new_one_gets_a_number_until_it_is_closed(tmp_path, mark):
    run(tmp_path, "one")
    (tmp_path / mark).write_bytes(b"")
    for run_id in ("two", "three"):
        run(tmp_path, run_id)
        assert book_content(tmp_path / "fitback.xlsx") == "one"
        assert book_content(tmp_path / "fitback 2.xlsx") == run_id
        assert publish.book_in(tmp_path) == tmp_path / "fitback 2.xlsx"
    (tmp_path / mark).unlink()
    run(tmp_path, "four")
    assert book_content(tmp_path / "fitback.xlsx") == "four"
    assert [path.name for path in tmp_path.glob("*.xlsx")] == ["fitback.xlsx"]


@pytest.mark.parametrize("make", [lambda path: write_book(path, "mine", "a person"), lambda path: path.write_text("x")])
def test_a_file_of_that_name_that_is_not_fitbacks_is_never_replaced(tmp_path, make):
    make(tmp_path / "fitback.xlsx")
    before = (tmp_path / "fitback.xlsx").read_bytes()
    for run_id in ("one", "two"):
        run(tmp_path, run_id)
    assert (tmp_path / "fitback.xlsx").read_bytes() == before
    assert book_content(tmp_path / "fitback 2.xlsx") == "two"

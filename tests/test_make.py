"""What make says and does on machines that lack something: each machine is a PATH with only some programs on it."""

import os
import shutil
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
TOOLS = ["make", "sh", "awk", "cat", "mkdir", "pwd", "rm", "touch"]

# `venv` fails half-way and leaves its folder behind, as on Debian without python3-venv.
PYTHON = """#!/bin/sh
case "$*" in
    "-c import sys; v"*) exit {unsuitable} ;;
    "-m venv .venv") mkdir -p .venv/bin; exit 1 ;;
    *) exit 1 ;;
esac
"""
ASKED_TO_TEST = """#!/bin/sh
[ "$1" = -c ] || { echo "browser=$FITBACK_CHROMIUM arguments=$*"; exit {exit_code}; }
"""


class Machine:
    """A clone with nothing but the Makefile and the lock, and a PATH with only some programs."""

    def __init__(self, folder: Path) -> None:
        self.clone, self.programs = folder / "clone", folder / "programs"
        self.clone.mkdir()
        self.programs.mkdir()
        for name in ["Makefile", "requirements.lock", "pyproject.toml"]:
            shutil.copy(ROOT / name, self.clone)
        for tool in TOOLS:
            (self.programs / tool).symlink_to(shutil.which(tool) or tool)
        self.add("id", "#!/bin/sh\necho 1000\n")

    def add(self, name: str, script: str) -> None:
        """Puts a program on the PATH."""
        self._write(self.programs / name, script)

    def set_up(self, python: str) -> None:
        """Makes the clone look as if everything but the browser were installed."""
        self._write(self.clone / ".venv" / "bin" / "python", python)
        for stamp in ["made", "locked", "installed"]:
            (self.clone / ".venv" / stamp).write_text(f"{self.clone}\n")

    def make(self, target: str, **environment: str) -> tuple[int, str]:
        """Runs one target; returns the exit code and what was said, make's own closing line left out."""
        kept = {name: os.environ[name] for name in ["LANG", "TMPDIR"] if name in os.environ}
        done = subprocess.run(
            ["make", "--no-print-directory", target],
            cwd=self.clone,
            env={**kept, "PATH": str(self.programs), **environment},
            text=True,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            stdin=subprocess.DEVNULL,
            check=False,
        )
        said = [line for line in done.stdout.splitlines() if not line.startswith("make")]
        return done.returncode, "\n".join(said)

    @staticmethod
    def _write(path: Path, script: str) -> None:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(script)
        path.chmod(0o755)


@pytest.fixture
def machine(tmp_path: Path) -> Machine:
    """A machine with make and the plainest tools."""
    return Machine(tmp_path)


@pytest.mark.parametrize("has_old_python", [False, True])
def test_without_a_python_that_is_new_enough_make_says_so_in_one_sentence(
    machine: Machine, has_old_python: bool
) -> None:
    if has_old_python:
        machine.add("python3", PYTHON.format(unsuitable=1))
    exit_code, said = machine.make("demo")
    assert exit_code != 0
    assert said == (
        "fitback needs Python 3.11 or newer and finds none: install it (as root: apt-get install python3), "
        "then run make again."
    )


def test_a_python_that_cannot_make_an_environment_leaves_none_half_made(machine: Machine) -> None:
    machine.add("python3", PYTHON.format(unsuitable=0))
    exit_code, said = machine.make("demo")
    assert exit_code != 0
    assert said.startswith("python3 cannot make a virtual environment here: install its venv module")
    assert len(said.splitlines()) == 1
    assert not (machine.clone / ".venv").exists()


def test_without_a_browser_all_other_tests_run_and_make_fails_with_one_sentence(machine: Machine) -> None:
    machine.set_up(ASKED_TO_TEST.replace("{exit_code}", "0"))
    exit_code, said = machine.make("test")
    arguments, sentence = said.splitlines()
    assert exit_code != 0
    assert arguments.startswith("browser= arguments=-m pytest")
    assert arguments.endswith("-m not browser")
    assert sentence.endswith("install one (as root: apt-get install chromium), then run make test again.")


@pytest.mark.parametrize("tests_fail", [False, True])
def test_with_a_browser_every_test_runs_and_decides(machine: Machine, tests_fail: bool) -> None:
    machine.set_up(ASKED_TO_TEST.replace("{exit_code}", "1" if tests_fail else "0"))
    machine.add("chromium", "#!/bin/sh\n")
    exit_code, said = machine.make("test")
    assert (exit_code != 0) == tests_fail
    assert said.startswith(f"browser={machine.programs / 'chromium'} arguments=-m pytest")
    assert "not browser" not in said


def test_a_browser_that_does_not_start_is_passed_over(machine: Machine) -> None:
    machine.set_up(ASKED_TO_TEST.replace("{exit_code}", "0"))
    machine.add("chromium-browser", "#!/bin/sh\nexit 1\n")
    machine.add("firm-chromium", "#!/bin/sh\n")
    assert "not browser" in machine.make("test")[1]
    own = str(machine.programs / "firm-chromium")
    assert machine.make("test", FITBACK_CHROMIUM=own)[1].startswith(f"browser={own} ")


def test_an_environment_made_for_another_folder_is_made_anew(machine: Machine) -> None:
    machine.set_up(ASKED_TO_TEST)
    (machine.clone / ".venv" / "made").write_text("elsewhere\n")
    exit_code, said = machine.make("test")
    assert exit_code != 0
    assert said.startswith("fitback needs Python 3.11 or newer")

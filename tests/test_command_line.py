"""What a person meets who mistypes, presses Tab, pipes, or has a terminal of another width or without colour."""

import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
from typer.testing import CliRunner

from pipeline.cli import app
from pipeline.command_line import SHELLS, completion_script
from pipeline.model_files import model_paths
from tests.terminal import on_a_terminal

ROOT = Path(__file__).parents[1]
RUN = [sys.executable, "-c", "from pipeline.cli import main; main()"]
COMMANDS = sorted(command.name or command.callback.__name__ for command in app.registered_commands)
BOLD = "\x1b[1m"


def typed(*words: str):
    return CliRunner().invoke(app, list(words))


def told_on_a_terminal(words: list[str], **environment: str) -> str:
    """The answer of a command on a terminal, colours left to it unless the environment says otherwise."""
    plain = {"NO_COLOR": "", "FORCE_COLOR": ""}
    return on_a_terminal([*RUN, *words], "both", ROOT, **plain | environment).replace("\r\n", "\n")


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("rnu", "doors"), "fitback has no command 'rnu'; did you mean fitback run?"),
        (("door2", "D-1"), "fitback has no command 'door2'; did you mean fitback door?"),
        (("run",), "fitback run needs FOLDER; fitback run --help shows how."),
        (("run", "doors", "--jsn"), "fitback run has no option --jsn; did you mean --json?"),
        (("run", "doors", "--colour"), "fitback run has no option --colour; fitback run --help lists them."),
        (("run", "a", "b"), "fitback run does not know what to do with 'b'; fitback run --help shows how."),
        (("recheck", "doors"), "fitback recheck needs --doors FOLDER2; fitback recheck --help shows how."),
        (
            ("recheck", "doors", "--doors"),
            "fitback recheck needs a value behind --doors: --doors FOLDER2; fitback recheck --help shows how.",
        ),
        (("run", "doors", "--out"), "fitback run needs a value behind --out: --out DIR; fitback run --help shows how."),
        (("--versoin",), "fitback has no option --versoin; did you mean --version?"),
        (("completion", "ksh"), "fitback completes in bash, zsh, fish, not in 'ksh'; name one of them."),
        (("tables", "efects"), "No table is called efects; did you mean effects or effect_fits?"),
        (("tables", "fair_ratio"), "No table is called fair_ratio; it is a column of callback_rates."),
    ],
)
def test_what_is_mistyped_is_one_sentence_with_the_nearest_name(words, sentence):
    result = typed(*words)
    assert (result.exit_code, result.stdout, result.stderr) == (2, "", f"{sentence}\n")


def test_an_unknown_command_that_is_near_none_lists_them():
    said = typed("xyzzyq").stderr
    assert said.startswith("fitback has no command 'xyzzyq'; there are ")
    assert all(command in said for command in COMMANDS)


def test_a_value_of_the_wrong_kind_names_its_option():
    result = typed("sheets", "--width", "wide", "--height", "2100", "--leaves", "3")
    assert result.exit_code == 2
    assert re.fullmatch(r"fitback sheets: .*'--width': .*number; fitback sheets --help shows how\.\n", result.stderr)


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_has_help_with_an_example_of_itself(command):
    told = typed(command, "--help").stdout
    assert f"fitback {command}" in told.split("Example", 1)[1]
    assert "--install-completion" not in told
    assert max(map(len, told.splitlines())) <= 100


def test_the_first_help_has_examples_and_nothing_that_writes_into_a_persons_files():
    told = typed("--help").stdout
    assert "  fitback run doors2025" in told.split("Examples:")[1]
    assert "--install-completion" not in told


@pytest.mark.parametrize("shell", SHELLS)
def test_a_shell_is_given_a_script_for_fitback(shell):
    result = typed("completion", shell)
    assert (result.exit_code, result.stderr) == (0, "")
    assert result.stdout.strip() == completion_script(shell)
    assert "_FITBACK_COMPLETE" in result.stdout


@pytest.mark.skipif(not Path("/bin/bash").exists(), reason="no bash")
@pytest.mark.parametrize(
    ("line", "offered"),
    [
        ("fitback ch", ["check"]),
        ("fitback run --st", ["--strict"]),
        ("fitback tables callback_r", ["callback_rates"]),
        ("fitback completion z", ["zsh"]),
    ],
)
def test_bash_completes_commands_options_and_tables(tmp_path, line, offered):
    """In a real bash, as pressing Tab does."""
    program = tmp_path / "fitback"
    program.write_text(f'#!/bin/sh\nexec {sys.executable} -c "from pipeline.cli import main; main()" "$@"\n')
    program.chmod(0o755)
    script = f"""
        {completion_script("bash")}
        COMP_WORDS=({line}); COMP_CWORD=$((${{#COMP_WORDS[@]}} - 1))
        _fitback_completion fitback; printf '%s\\n' "${{COMPREPLY[@]}}"
    """
    env = os.environ | {"PATH": f"{tmp_path}:{os.environ['PATH']}", "PYTHONPATH": str(ROOT)}
    done = subprocess.run(["/bin/bash", "-c", script], capture_output=True, text=True, env=env, check=True)
    assert done.stdout.split() == offered


def test_json_is_json_and_nothing_else():
    result = typed("tables", "--json")
    tables = {table["name"]: table for table in json.loads(result.stdout)["tables"]}
    assert set(model_paths()) <= set(tables)
    assert tables["callback_rates"]["key"] == ["crew"]
    assert result.stderr == ""


def test_a_number_that_is_none_is_null_in_json():
    from pipeline.terminal import finite

    assert finite({"a": [float("nan"), 1.5], "b": (float("inf"),)}) == {"a": [None, 1.5], "b": [None]}


def test_a_terminal_shows_lines_no_longer_than_itself_with_what_they_tell_of_set_strong():
    shown = told_on_a_terminal(["tables", "callback_rates"])
    plain = re.sub(r"\x1b\[\d*m", "", shown)
    assert f"{BOLD}Key:" in shown
    assert 60 < max(map(len, plain.splitlines())) <= 80
    assert " ".join(typed("tables", "callback_rates").stdout.split()) == " ".join(plain.split())


def test_no_colour_where_none_is_wanted():
    assert "\x1b" not in told_on_a_terminal(["tables", "outlook"], NO_COLOR="1")


def test_a_pipe_has_no_colour_and_whole_lines_unless_colour_is_asked_for(monkeypatch):
    for name in ("NO_COLOR", "FORCE_COLOR"):
        monkeypatch.delenv(name, raising=False)
    piped = typed("tables", "callback_rates").stdout
    assert "\x1b" not in piped
    assert max(map(len, piped.splitlines())) > 120
    done = subprocess.run(
        [*RUN, "tables", "outlook"], capture_output=True, text=True, cwd=ROOT, check=True,
        env=os.environ | {"FORCE_COLOR": "1"},
    )  # fmt: skip
    assert BOLD in done.stdout


def test_errors_on_a_terminal_are_broken_between_words():
    shown = on_a_terminal([*RUN, "run", "/nowhere/at/all", "--quiet"], "both", ROOT, exit_code=2)
    assert max(map(len, shown.splitlines())) <= 80
    assert " ".join(shown.split()) == (
        "/nowhere/at/all does not exist; give the folder that holds installs, readings and callbacks."
    )

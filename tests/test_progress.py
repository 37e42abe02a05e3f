"""What a run tells while it works: a bar on a terminal, plain lines in a pipe, nothing when asked to be quiet."""

import re
import subprocess
import sys

from rich.progress import Progress

from pipeline.progress import TerminalBar
from tests.terminal import on_a_terminal

TELLS = (
    "import sys\nfrom pipeline.progress import showing\n"
    "with showing(is_quiet=len(sys.argv) > 1) as progress:\n"
    "    progress.at('Building effects', 3, 40)\n"
    "    progress('Built 40 tables [3 s].')\n"
    "print('answer')\n"
)


def run(*arguments: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-c", TELLS, *arguments]
    return subprocess.run(command, capture_output=True, text=True, check=True)


def told_on_a_terminal(**environment: str) -> str:
    """What a terminal would have been sent on standard error."""
    return on_a_terminal([sys.executable, "-c", TELLS], "stderr", **environment)


def test_a_pipe_gets_plain_lines_apart_from_the_answers():
    done = run()
    assert done.stdout == "answer\n"
    assert done.stderr == "Built 40 tables [3 s].\n"


def test_quiet_tells_only_the_answers():
    done = run("--quiet")
    assert (done.stdout, done.stderr) == ("answer\n", "")


def test_a_terminal_gets_a_bar_and_the_sentences():
    sent = told_on_a_terminal()
    assert "Building effects" in sent
    assert "Built 40 tables [3 s]." in sent
    assert "\x1b[" in sent


def test_no_color_is_respected():
    colours = [f"\x1b[{code}m" for code in range(30, 38)] + ["\x1b[38;"]
    assert any(colour in told_on_a_terminal(NO_COLOR="") for colour in colours)
    assert not any(colour in told_on_a_terminal(NO_COLOR="1") for colour in colours)


def test_the_bar_has_our_own_blue_and_none_of_the_red_of_a_failure():
    sent = told_on_a_terminal(NO_COLOR="", COLORTERM="truecolor")
    shades = [tuple(map(int, shade)) for shade in re.findall(r"\x1b\[38;2;(\d+);(\d+);(\d+)m", sent)]
    assert (31, 95, 168) in shades
    assert all(red <= green <= blue for red, green, blue in shades)
    assert not re.search(r"\x1b\[(?:3[0-7]|9[0-7])m", sent)


def test_a_step_without_a_count_does_not_stand_at_the_share_of_the_one_before():
    with Progress(disable=True) as shown:
        bar = TerminalBar(shown)
        bar.at("Building effects", 3, 40)
        assert (shown.tasks[0].completed, shown.tasks[0].total) == (3, 40)
        bar.at("Drawing the pages")
        assert (shown.tasks[0].completed, shown.tasks[0].total) == (0, None)  # the bar runs to and fro

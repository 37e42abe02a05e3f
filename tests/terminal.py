"""What a command shows on a terminal."""

import os
import subprocess
from pathlib import Path
from typing import Literal

import pytest


def on_a_terminal(
    command: list[str], stream: Literal["stdout", "stderr"], cwd: Path | None = None, **environment: str
) -> str:
    """What a terminal, 80 wide unless COLUMNS says otherwise, was sent on one stream; the command has to succeed."""
    pty = pytest.importorskip("pty")
    ours, theirs = pty.openpty()
    variables = {**os.environ, "TERM": "xterm-256color", "COLUMNS": "80", **environment}
    out, err = (theirs, None) if stream == "stdout" else (subprocess.DEVNULL, theirs)
    running = subprocess.Popen(command, stdout=out, stderr=err, env=variables, cwd=cwd)
    os.close(theirs)
    sent = b""
    try:
        while piece := os.read(ours, 4096):
            sent += piece
    except OSError:  # the other end is closed
        pass
    os.close(ours)
    assert running.wait() == 0
    return sent.decode()

"""What a command shows on a terminal."""

import os
import subprocess
from pathlib import Path
from typing import Literal

import pytest


def on_a_terminal(
    command: list[str],
    stream: Literal["stdout", "stderr", "both"],
    cwd: Path | None = None,
    *,
    exit_code: int = 0,
    **environment: str,
) -> str:
    """What a terminal, 80 wide unless COLUMNS says otherwise, was sent on a stream or both.

    exit_code  what the command has to end with
    """
    pty = pytest.importorskip("pty")
    ours, theirs = pty.openpty()
    variables = {**os.environ, "TERM": "xterm-256color", "COLUMNS": "80", **environment}
    out = subprocess.DEVNULL if stream == "stderr" else theirs
    err = None if stream == "stdout" else theirs
    running = subprocess.Popen(command, stdout=out, stderr=err, env=variables, cwd=cwd)
    os.close(theirs)
    sent = b""
    try:
        while piece := os.read(ours, 4096):
            sent += piece
    except OSError:  # the other end is closed
        pass
    os.close(ours)
    assert running.wait() == exit_code
    return sent.decode()

"""Runs one of the hardness programs in a process of its own, which may fork, and reads its figures."""

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]


def figures_of(name: str, *options: str, seconds: float = 900) -> dict[str, Any]:
    """The figures of `tests.hardness.<name>`. Raises AssertionError where it fails."""
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    command = [sys.executable, "-m", f"tests.hardness.{name}", *options]
    done = subprocess.run(
        command, cwd=ROOT, env=environment, capture_output=True, text=True, timeout=seconds, check=False
    )
    assert done.returncode == 0, done.stderr[-2000:]
    return json.loads(done.stdout.strip().splitlines()[-1])

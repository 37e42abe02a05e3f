"""Runs the main job without room: one sentence, nothing half in place, and the next run is as ever.

Files that may grow no further stand for a full disk everywhere; where a small disk in memory can be mounted (Linux, as
root), a disk that is really full too.
"""

import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

from tests.hardness.children import in_child, limit_file_size
from tests.hardness.small_firm import FRESH, LATER, MOST_SECONDS, SmallFirm, done, output, run_without_pages

# Bytes that a file, and a disk, may hold beyond what is there before the run.
GROWTH = (1 << 12, 1 << 16, 1 << 19, 1 << 21, 1 << 22)
FEW = (1 << 12, 1 << 21)
KIB = 1024


def short_of_files(small: SmallFirm, name: str, growth: int) -> list[str]:
    """A run whose files may not grow beyond the largest record file before by more than `growth` bytes."""
    firm = small.placed(small.folder / f"files-{name}-{growth}", name)
    records = output(firm) / "records.duckdb"
    most = growth + (records.stat().st_size if records.exists() else 0)
    faults = done(in_child(lambda: ends_in_a_sentence(firm, lambda: limit_file_size(most)), MOST_SECONDS))
    return faults + _next_run(small, firm, name)


def short_of_disk(small: SmallFirm, name: str, growth: int) -> list[str] | None:
    """A run on a disk with `growth` bytes left; None where no such disk can be made."""
    folder = small.folder / "disk"
    folder.mkdir(exist_ok=True)
    if not mount(folder, "size=300m"):
        return None
    try:
        firm = small.placed(folder, name)
        most = sum(path.stat().st_blocks * 512 for path in folder.rglob("*")) + growth
        mount(folder, f"remount,size={most // KIB}k")
        faults = done(in_child(lambda: ends_in_a_sentence(firm, lambda: None), MOST_SECONDS))
        mount(folder, "remount,size=300m")
        return faults + _next_run(small, firm, name)
    finally:
        subprocess.run(["umount", str(folder)], check=False)


def _next_run(small: SmallFirm, firm: Path, name: str) -> list[str]:
    ended = in_child(lambda: run_without_pages(firm), MOST_SECONDS)
    if ended.status != 0:
        return [f"the next run ended with {ended.status}: {ended.trace[-300:]}"]
    return small.faults(firm, name)


def ends_in_a_sentence(firm: Path, restrict: Callable[[], None]) -> list[str]:
    """Runs the command once `restrict` has taken the room; what is wrong with how it ends."""
    from typer.testing import CliRunner

    from pipeline.cli import app
    from tests.hardness.standings import run_ids

    out = output(firm)
    before = run_ids(out) if out.exists() else set()
    restrict()
    ended = CliRunner().invoke(app, ["run", str(firm), "--quiet"])
    lines = ended.stderr.strip().splitlines()
    faults = []
    is_told = "the disk is full" in ended.stderr or "may grow no larger" in ended.stderr
    if ended.exit_code != 2 or len(lines) != 1 or not is_told or ended.stdout:
        faults.append(f"ended with {ended.exit_code} and said {ended.stdout[-200:]} {lines[-3:]}")
    if (run_ids(out) if out.exists() else set()) != before:
        faults.append("left other results than before")
    if (out / ".next").exists():
        faults.append("left a half-built folder")
    return faults


def mount(folder: Path, options: str) -> bool:
    """Mounts a disk in memory, or mounts it anew with other options; false where that is not allowed."""
    command = ["mount", "-t", "tmpfs", "-o", options, "tmpfs", str(folder)]
    try:
        return subprocess.run(command, capture_output=True, check=False).returncode == 0
    except FileNotFoundError:
        return False


def figures(small: SmallFirm, is_few: bool) -> dict[str, Any]:
    """First runs and later ones in every room, or in a few; how many were stopped, and what went wrong.

    is_few  a few sizes, and no disk
    """
    total: dict[str, Any] = {"files": 0, "disks": 0, "faults": []}
    for name in (FRESH, LATER):
        for growth in FEW if is_few else GROWTH:
            on_disk = None if is_few else short_of_disk(small, name, growth)
            for kind, told in (("files", short_of_files(small, name, growth)), ("disks", on_disk)):
                total[kind] += told is not None
                total["faults"] += [f"{name} run, {growth} bytes left for {kind}: {fault}" for fault in told or []]
    return total

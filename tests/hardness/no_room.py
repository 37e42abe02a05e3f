"""Runs the main job without room: one sentence, nothing half in place, and the next run is as ever.

Files that may grow no further stand for a full disk everywhere; where a small disk in memory can be mounted (Linux, as
root), a disk that is really full too. `python -m tests.hardness.no_room` prints one line of JSON.
"""

import argparse
import json
import shutil
import subprocess
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

from tests.hardness.children import in_child, limit_file_size, load_everything
from tests.hardness.kills import MOST_SECONDS, compared, done, run_without_pages, stand_of, write_records

# Bytes that a file, and a disk, may hold beyond what is there before the run.
GROWTH = (1 << 12, 1 << 16, 1 << 19, 1 << 21, 1 << 22)
FEW = (1 << 12, 1 << 21)
KIB = 1024


class Rooms:
    """A firm before its first run and one whose records changed since, and what an undisturbed run leaves of each."""

    def __init__(self, place: Path) -> None:
        self.place, self.changed = place, place / "changed"
        first = place / "first"
        done(in_child(lambda: write_records(first, self.changed), MOST_SECONDS))
        done(in_child(lambda: run_without_pages(first), MOST_SECONDS))
        self.before = {"fresh": None, "later": first.with_name("first-fitback")}
        self.expected = {name: self._expected(name) for name in self.before}

    def firm(self, folder: Path, name: str) -> Path:
        """The firm's folder within `folder`, and beside it what the run before left."""
        firm = folder / "doors"
        shutil.copytree(self.changed, firm)
        before = self.before[name]
        if before is not None:
            shutil.copytree(before, firm.with_name("doors-fitback"))
        return firm

    def files(self, name: str, growth: int) -> list[str]:
        """A run whose files may not grow beyond the largest record file before by more than `growth` bytes."""
        folder = self.place / f"files-{name}-{growth}"
        firm = self.firm(folder, name)
        records = firm.with_name("doors-fitback") / "records.duckdb"
        most = growth + (records.stat().st_size if records.exists() else 0)
        faults = done(in_child(lambda: ends_in_a_sentence(firm, lambda: limit_file_size(most)), MOST_SECONDS))
        return faults + self._next_run(firm, name)

    def disk(self, name: str, growth: int) -> list[str] | None:
        """A run on a disk with `growth` bytes left; None where no such disk can be made."""
        folder = self.place / "disk"
        folder.mkdir(exist_ok=True)
        if not mount(folder, "size=300m"):
            return None
        try:
            firm = self.firm(folder, name)
            most = sum(path.stat().st_blocks * 512 for path in folder.rglob("*")) + growth
            mount(folder, f"remount,size={most // KIB}k")
            faults = done(in_child(lambda: ends_in_a_sentence(firm, lambda: None), MOST_SECONDS))
            mount(folder, "remount,size=300m")
            return faults + self._next_run(firm, name)
        finally:
            subprocess.run(["umount", str(folder)], check=False)

    def _expected(self, name: str) -> Any:
        firm = self.firm(self.place / f"expected-{name}", name)
        done(in_child(lambda: run_without_pages(firm), MOST_SECONDS))
        return done(in_child(lambda: stand_of(firm), MOST_SECONDS))

    def _next_run(self, firm: Path, name: str) -> list[str]:
        ended = in_child(lambda: run_without_pages(firm), MOST_SECONDS)
        if ended.status != 0:
            return [f"the next run ended with {ended.status}: {ended.trace[-300:]}"]
        return done(in_child(lambda: compared(firm, self.expected[name]), MOST_SECONDS))


def ends_in_a_sentence(firm: Path, restrict: Callable[[], None]) -> list[str]:
    """Runs the command once `restrict` has taken the room; what is wrong with how it ends."""
    from typer.testing import CliRunner

    from pipeline.cli import app
    from tests.hardness.standings import run_ids

    out = firm.with_name("doors-fitback")
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


def figures(place: Path, is_few: bool) -> dict[str, Any]:
    """First runs and later ones in every room, or in a few; how many were stopped, and what went wrong."""
    load_everything()
    rooms = Rooms(place)
    total: dict[str, Any] = {"files": 0, "disks": 0, "faults": []}
    for name in rooms.before:
        for growth in FEW if is_few else GROWTH:
            on_disk = None if is_few else rooms.disk(name, growth)
            for kind, told in (("files", rooms.files(name, growth)), ("disks", on_disk)):
                total[kind] += told is not None
                total["faults"] += [f"{name} run, {growth} bytes left for {kind}: {fault}" for fault in told or []]
    return total


def main() -> None:
    """Prints the figures as one line of JSON."""
    parser = argparse.ArgumentParser(prog="python -m tests.hardness.no_room", description=__doc__.splitlines()[0])
    parser.add_argument("--few", action="store_true", help="a few sizes, and no disk")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="fitback-room-") as place:
        print(json.dumps(figures(Path(place), options.few)))


if __name__ == "__main__":
    main()

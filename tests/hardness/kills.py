"""Kills runs at random moments; after each, the next run must leave what an undisturbed one does.

`python -m tests.hardness.kills --kills 20 --seed 1` prints one line of JSON: how many, when, what went wrong.
"""

import argparse
import json
import random
import shutil
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

from tests.hardness.children import Ended, in_child, load_everything

MOST_SECONDS = 120.0
DOORS = 12
TAKING_IN = 0.3  # share of a run's time in which records are taken in


class Kills:
    """A small firm whose records change between two runs, and what an undisturbed second run leaves.

    Half the kills hit a first run, half a run on changed records; half come while records are taken in, half at any
    moment.
    """

    def __init__(self, folder: Path, draws_pages: bool) -> None:
        self.folder = folder
        self.run = run if draws_pages else run_without_pages
        self.first, self.changed = folder / "first", folder / "changed"
        done(in_child(lambda: write_records(self.first, self.changed), MOST_SECONDS))
        self.expected, self.usual = {}, {}
        for name in ("fresh", "later"):
            firm = self._firm(folder / f"expected-{name}", name)
            ended = in_child(lambda firm=firm: self.run(firm), MOST_SECONDS)
            done(ended)
            self.usual[name] = ended.seconds
            self.expected[name] = done(in_child(lambda firm=firm: stand_of(firm), MOST_SECONDS))

    def kill(self, number: int, chance: random.Random) -> dict[str, Any]:
        """One run killed, some twice; then one that must complete."""
        name = chance.choice(("fresh", "later"))
        firm = self._firm(self.folder / f"kill-{number}", name)
        whole = self.usual[name]
        latest = [chance.choice((TAKING_IN * whole, whole)) for _ in range(1 + (chance.random() < 0.25))]
        moments = [chance.uniform(0.0, moment) for moment in latest]
        stopped = [in_child(lambda: self.run(firm), MOST_SECONDS, kill_after=moment) for moment in moments]
        last = in_child(lambda: self.run(firm), MOST_SECONDS)
        faults = [f"run {number}: raised {each.trace[-400:]}" for each in (*stopped, last) if each.status == 1]
        if last.status == 0:
            found = done(in_child(lambda: compared(firm, self.expected[name]), MOST_SECONDS))
            faults += [f"run {number} ({name}, killed at {moments}): {fault}" for fault in found]
        elif last.status != 1:
            faults.append(f"run {number}: the next run ended with {last.status}, late: {last.is_late}")
        shutil.rmtree(firm.parent)
        return {"kills": sum(each.status == -9 for each in stopped), "runs": len(stopped), "faults": faults}

    def _firm(self, place: Path, name: str) -> Path:
        """A folder of records: the first ones never run, or the changed ones after a run on the first."""
        firm = place / "doors"
        if name == "fresh":
            shutil.copytree(self.changed, firm)
            return firm
        before = self.folder / "before" / "doors"
        if not before.exists():
            shutil.copytree(self.first, before)
            done(in_child(lambda: self.run(before), MOST_SECONDS))
        shutil.copytree(self.changed, firm)
        shutil.copytree(before.with_name("doors-fitback"), firm.with_name("doors-fitback"))
        return firm


def write_records(first: Path, changed: Path) -> None:
    """A simulated firm, and the same with one file changed, one new, one gone and one refused."""
    from pipeline.demo import simulate, write_firm

    write_firm(simulate(doors=DOORS, crews=3, seed=5), first)
    calls = (first / "callbacks.csv").read_text("utf-8").splitlines() if (first / "callbacks.csv").exists() else []
    (first / "callbacks old.csv").write_text("callback_id,install_id,reported_on,note\nX1,,2025-01-07,leaf drops\n")
    shutil.copytree(first, changed)
    doors = (first / "installs.csv").read_text("utf-8").splitlines()
    (changed / "installs.csv").write_text("\n".join(doors[:-2]), encoding="utf-8")
    (changed / "installs more.csv").write_text("\n".join([doors[0], *doors[-2:]]), encoding="utf-8")
    (changed / "callbacks old.csv").unlink()
    (changed / "checks broken.csv").write_bytes(b"\0\1\2")
    if len(calls) > 1:
        (changed / "callbacks.csv").write_text("\n".join(calls[:-1]), encoding="utf-8")


def run(firm: Path) -> None:
    """The main job on the firm, as the command does it."""
    from pipeline.progress import Silence
    from pipeline.run import run_firm

    run_firm(firm, None, Silence())


def run_without_pages(firm: Path) -> None:
    """The same, with an empty page and workbook: both take most of a small firm's time and are put in place alike."""
    import duckdb
    from openpyxl import Workbook

    import pipeline.run
    from pipeline.books import MAKER

    def one_page(results: Path, folder: Path, codes: Any = None, parts: Any = None) -> None:
        folder.mkdir()
        (folder / "index.html").touch()

    def empty_book(results: Path, path: Path, codes: Any = None) -> None:
        with duckdb.connect(results, read_only=True) as connection:
            (run_id,) = connection.execute("SELECT run_id FROM runs").fetchall()[0]
        book = Workbook()
        book.properties.creator, book.properties.identifier = MAKER, run_id
        book.save(path)

    pipeline.run.write_pages, pipeline.run.write_book = one_page, empty_book
    run(firm)


def stand_of(firm: Path) -> Any:
    """What stands in the firm's output folder."""
    from tests.hardness.standings import standing

    return standing(firm.with_name("doors-fitback"))


def compared(firm: Path, expected: Any) -> list[str]:
    """What differs from an undisturbed run, in sentences."""
    from tests.hardness.standings import differences, left_behind, run_ids, standing

    out = firm.with_name("doors-fitback")
    told = differences(standing(out), expected)
    if len(run_ids(out)) != 1:
        told.append(f"results, tables and pages are of several runs: {run_ids(out)}")
    if left_behind(out):
        told.append(f"left behind: {left_behind(out)}")
    return told


def done(ended: Ended) -> Any:
    """The child's value. Raises RuntimeError where it did not end well."""
    if ended.status != 0:
        raise RuntimeError(f"a child ended with {ended.status}: {ended.trace}")
    return ended.value


def figures(
    n_kills: int, seed: int, folder: Path, draws_pages: bool, say: Callable[[str], None] = lambda text: None
) -> dict[str, Any]:
    """Kills until so many runs were killed while they worked; what came of it."""
    load_everything()
    kills, chance = Kills(folder, draws_pages), random.Random(seed)
    total = {"seed": seed, "kills": 0, "runs": 0, "faults": list[str]()}
    number = 0
    while total["kills"] < n_kills:
        one = kills.kill(number, chance)
        number += 1
        total = {**total, **{key: total[key] + one[key] for key in ("kills", "runs", "faults")}}
        say(f"{total['kills']} of {n_kills} killed, {len(total['faults'])} faults")
    return total


def main() -> None:
    """Prints the figures as one line of JSON."""
    parser = argparse.ArgumentParser(prog="python -m tests.hardness.kills", description=__doc__.splitlines()[0])
    parser.add_argument("--kills", type=int, default=20)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--pages", action="store_true", help="draw the pages too")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="fitback-kills-") as folder:
        print(json.dumps(figures(options.kills, options.seed, Path(folder), options.pages)))


if __name__ == "__main__":
    main()

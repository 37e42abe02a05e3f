"""A small simulated firm before its first run and after its records changed, and what undisturbed runs leave of it."""

import shutil
from pathlib import Path
from typing import Any

from tests.hardness.children import Ended, in_child

MOST_SECONDS = 120.0
DOORS = 12
FRESH, LATER = "fresh", "later"  # never run; run, and its records changed since


class SmallFirm:
    """The firm in a folder of its own.

    usual     seconds that an undisturbed run takes, by name
    expected  what stands in the output folder after it
    """

    def __init__(self, folder: Path, draws_pages: bool = False) -> None:
        self.folder = folder
        self.run = run if draws_pages else run_without_pages
        self._changed, self._before = folder / "changed", folder / "before" / "doors"
        done(in_child(lambda: write_records(self._before, self._changed), MOST_SECONDS))
        done(in_child(lambda: self.run(self._before), MOST_SECONDS))
        self.usual: dict[str, float] = {}
        self.expected: dict[str, Any] = {}
        for name in (FRESH, LATER):
            firm = self.placed(folder / f"expected-{name}", name)
            ended = in_child(lambda firm=firm: self.run(firm), MOST_SECONDS)
            done(ended)
            self.usual[name] = ended.seconds
            self.expected[name] = done(in_child(lambda firm=firm: stand_of(firm), MOST_SECONDS))

    def placed(self, folder: Path, name: str) -> Path:
        """The firm's records in `folder`, and beside them what the run before left, if there was one."""
        firm = folder / "doors"
        shutil.copytree(self._changed, firm)
        if name == LATER:
            shutil.copytree(output(self._before), output(firm))
        return firm

    def faults(self, firm: Path, name: str) -> list[str]:
        """What differs in the firm's output folder from what an undisturbed run leaves, in sentences."""
        found: list[str] = done(in_child(lambda: compared(firm, self.expected[name]), MOST_SECONDS))
        return found


def output(firm: Path) -> Path:
    """The firm's output folder, beside its records."""
    return firm.with_name(f"{firm.name}-fitback")


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

    return standing(output(firm))


def compared(firm: Path, expected: Any) -> list[str]:
    """What differs from an undisturbed run, in sentences."""
    from tests.hardness.standings import differences, left_behind, run_ids, standing

    out = output(firm)
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

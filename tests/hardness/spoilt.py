"""Takes in folders of spoilt files: no traceback, no hang, bounded memory, every row and file accounted for.

`python -m tests.hardness.spoilt --files 500 --seed 1` prints one line of JSON: how many of which kind, what went wrong.
"""

import argparse
import json
import random
import resource
import shutil
import sys
import tempfile
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from tests.hardness.cells import Rows, file_endings, with_nasty_cells, with_nasty_names
from tests.hardness.children import in_child, load_everything
from tests.hardness.small_firm import done
from tests.hardness.texts import SPOILERS, WRITERS, checksum

FILES_IN_FOLDER = 50
RUN_EVERY = 5  # one folder in so many goes the whole way, to tables and pages
MOST_SECONDS = 180.0
MOST_MIB = 1024.0
MOST_ADDRESSES = 8 << 30
TODAY = date(2026, 3, 1)
INSTALLS = "installs.csv"


@dataclass(frozen=True)
class Spoilt:
    """A spoilt file. rows: how many it holds, where that is certain and the file is read at all."""

    name: str
    kind: str
    data: bytes
    rows: int | None = None


def spoilt_file(chance: random.Random, number: int, base: dict[str, Rows]) -> Spoilt:
    """One file of some record in some form, spoilt in some way, under a name that may be a trick."""
    record = chance.choice(sorted(base))
    form = chance.choice(sorted(WRITERS))
    name = f"{record} {number:04d}{file_endings(chance) if chance.random() < 0.2 else ''}{form}"
    if chance.random() < 0.35:
        rows = with_nasty_cells(chance, base[record])
        # a row whose every cell was blanked is no row, and which blanks a form keeps is its own affair; a workbook
        # shows nothing where a formula has no value
        shown = [[cell for cell in row if form != ".xlsx" or cell[:1] not in ("=", "#")] for row in rows]
        is_certain = all(any(sign.isalnum() for sign in "".join(row)) for row in shown)
        # a bare carriage return, which a CSV may hold outside quotes, may be the end of a line beside a quoted one
        is_certain &= form != ".csv" or not any("\r" in "".join(row) and "\n" in "".join(row) for row in rows)
        return Spoilt(name, f"{form} cells", WRITERS[form](rows), len(rows) - 1 if is_certain else None)
    rows = with_nasty_names(chance, base[record]) if chance.random() < 0.2 else with_nasty_cells(chance, base[record])
    spoil = chance.choice(SPOILERS[form])
    return Spoilt(name, f"{form} {spoil.__name__}", spoil(chance, WRITERS[form](rows)))


def base_rows(folder: Path) -> dict[str, Rows]:
    """Rows of a small simulated firm by record, names of columns first; a few people are made up."""
    import csv

    from pipeline.demo import simulate, write_firm

    write_firm(simulate(doors=5, crews=2, seed=9), folder)
    found = {}
    for path in sorted(folder.glob("*.csv")):
        with path.open(encoding="utf-8", newline="") as file:
            found[path.stem] = list(csv.reader(file))[:60]
    return found


def write_folder(folder: Path, base: dict[str, Rows], files: list[Spoilt]) -> None:
    """The sound doors of the firm, and the spoilt files beside them."""
    folder.mkdir(parents=True)
    (folder / INSTALLS).write_bytes(WRITERS[".csv"](base["installs"]))
    for file in files:
        (folder / file.name).write_bytes(file.data)


def taken_in(folder: Path, files: list[Spoilt]) -> list[str]:
    """Takes the folder in; what is wrong with what came of it."""
    import duckdb

    from pipeline.ingest.take import take_in
    from pipeline.progress import Silence
    from pipeline.settings import load_settings

    out = folder.with_name("out")
    faults = refused(lambda: take_in(folder, out, *load_settings(folder), Silence(), TODAY))
    if faults is not None:
        return faults
    with duckdb.connect(out / "records.duckdb", read_only=True) as records:
        return account_faults(records, files)


def run_whole(folder: Path) -> list[str]:
    """The whole job on a folder that has been taken in; what of it a spreadsheet or browser would run."""
    from pipeline.progress import Silence
    from pipeline.run import run_firm
    from tests.hardness.harmless import harmful

    out = folder.with_name("out")
    faults = refused(lambda: run_firm(folder, out, Silence()))
    return [f"would be run: {what}" for what in harmful(out)] if faults is None else faults


def refused(job: Callable[[], object]) -> list[str] | None:
    """None where the job was done; else what is wrong with the sentence that refused it."""
    from pipeline.errors import UserError

    try:
        job()
    except UserError as error:
        text = str(error)
        return [] if "\n" not in text and text.endswith((".", "?")) else [f"not one sentence: {text[:200]!r}"]
    return None


def limited(job: Callable[[], list[str]]) -> list[str]:
    """The job within so much address space that a run-away one ends before the machine suffers."""
    resource.setrlimit(resource.RLIMIT_AS, (MOST_ADDRESSES, MOST_ADDRESSES))
    return job()


def account_faults(records: Any, files: list[Spoilt]) -> list[str]:
    """Files missing in the account, sums that do not close, rows that are not those written, lines without reason."""
    columns = "file, status, reason, rows_read, rows_taken_in, rows_set_aside, rows_repeated"
    told = {line[0]: line[1:] for line in records.execute(f"SELECT {columns} FROM files").fetchall()}
    faults = []
    for file in files:
        if file.name not in told:
            faults.append(f"{file.name!r} ({file.kind}) is not in the account")
            continue
        status, reason, read, *parts = told[file.name]
        if status in ("refused", "not read") and not reason:
            faults.append(f"{file.name!r} ({file.kind}) is {status} without a reason")
        if status == "taken in" and read != sum(parts):
            faults.append(f"{file.name!r} ({file.kind}): {read} read, but {parts}")
        if status == "taken in" and file.rows is not None and read != file.rows:
            faults.append(f"{file.name!r} ({file.kind}): {read} rows read of {file.rows}")
    if records.execute("SELECT 1 FROM rejections WHERE coalesce(trim(reason), '') = '' LIMIT 1").fetchall():
        faults.append("a row was set aside without a reason")
    return faults


class Folders:
    """Folders of spoilt files, one after another, in a folder of their own."""

    def __init__(self, place: Path, keep: Path | None = None) -> None:
        self.place, self.keep = place, keep
        self.base = done(in_child(lambda: base_rows(place / "base"), MOST_SECONDS))

    def one(self, chance: random.Random, number: int, n_files: int) -> dict[str, Any]:
        """A folder of so many spoilt files: its faults, its time and memory, its kinds of files."""
        files = [spoilt_file(chance, each, self.base) for each in range(n_files)]
        is_run = number % RUN_EVERY == 0
        faults, seconds, peak = self._tried(files, is_run)
        if any(fault.startswith("folder") for fault in faults):
            faults = self._narrowed(files, is_run) or faults
        kinds = Counter(file.kind for file in files)
        return {
            "files": len(files),
            "folders": 1,
            "faults": faults,
            "seconds": seconds,
            "peak_mib": peak,
            "kinds": kinds,
        }

    def _tried(self, files: list[Spoilt], is_run: bool) -> tuple[list[str], float, float]:
        folder = self.place / "tried" / "doors"
        write_folder(folder, self.base, files)
        ends = [in_child(lambda: limited(lambda: taken_in(folder, files)), MOST_SECONDS)]
        if is_run and ends[0].status == 0:
            ends.append(in_child(lambda: run_whole(folder), MOST_SECONDS))
        shutil.rmtree(folder.parent)
        faults = [fault for ended in ends for fault in ended.value or []]
        for ended in ends:
            if ended.status != 0:
                why = "took too long" if ended.is_late else f"ended with {ended.status} {ended.trace[-600:]}"
                faults.append(f"folder: {why}")
            if ended.peak_mib > MOST_MIB:
                faults.append(f"folder: {ended.peak_mib:.0f} MiB")
        return faults, sum(ended.seconds for ended in ends), max(ended.peak_mib for ended in ends)

    def _narrowed(self, files: list[Spoilt], is_run: bool) -> list[str]:
        """Which single files make a folder fail, by halves."""
        found, _, _ = self._tried(files, is_run)
        if not any(fault.startswith("folder") for fault in found):
            return []
        if len(files) > 1:
            middle = len(files) // 2
            return self._narrowed(files[:middle], is_run) + self._narrowed(files[middle:], is_run)
        (file,) = files
        if self.keep:
            self.keep.mkdir(parents=True, exist_ok=True)
            (self.keep / f"{checksum(file.data):08x}{Path(file.name).suffix}").write_bytes(file.data)
        return [f"{file.name!r} ({file.kind}, {checksum(file.data):08x}): {fault}" for fault in found]


def figures(
    n_files: int, seed: int, place: Path, keep: Path | None = None, say: Callable[[str], None] = lambda text: None
) -> dict[str, Any]:
    """Takes so many spoilt files in; what came of it."""
    load_everything()
    folders, chance = Folders(place, keep), random.Random(seed)
    total: dict[str, Any] = {"seed": seed, "files": 0, "folders": 0, "faults": [], "most_seconds": 0.0, "most_mib": 0.0}
    kinds: Counter[str] = Counter()
    while total["files"] < n_files:
        one = folders.one(chance, total["folders"], min(FILES_IN_FOLDER, n_files - total["files"]))
        kinds += one["kinds"]
        total = {
            **total,
            **{key: total[key] + one[key] for key in ("files", "folders", "faults")},
            "most_seconds": max(total["most_seconds"], one["seconds"]),
            "most_mib": max(total["most_mib"], one["peak_mib"]),
        }
        say(f"{total['files']} of {n_files} files, {len(total['faults'])} faults, last {one['seconds']:.1f} s")
    return {**total, "kinds": dict(sorted(kinds.items()))}


def main() -> None:
    """Prints the figures as one line of JSON."""
    parser = argparse.ArgumentParser(prog="python -m tests.hardness.spoilt", description=__doc__.splitlines()[0])
    parser.add_argument("--files", type=int, default=500)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--keep", type=Path, help="where to leave files that made a fault")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="fitback-spoilt-") as place:
        found = figures(options.files, options.seed, Path(place), options.keep, told)
    print(json.dumps(found))


def told(text: str) -> None:
    """Says how far it is, beside the answer."""
    print(text, file=sys.stderr, flush=True)


if __name__ == "__main__":
    main()

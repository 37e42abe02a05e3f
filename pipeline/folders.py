"""Where records are read and where results are left."""

import re
import shutil
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from hashlib import sha256
from pathlib import Path

from pipeline.errors import UserError
from pipeline.publish import RESULTS, is_published
from pipeline.warehouse import locked

RECORDS = "records.duckdb"  # what was taken in, beside the results
PEOPLE = "people.duckdb"  # customers, addresses and notes, apart from it
DOORS = "doors"  # sheets of single doors, beside the results
DOORS_WITH_PEOPLE = "doors_with_people"  # those that name customers, apart from them
LONGEST = 60  # signs of a door's number in a file name
PLAIN_NAME = re.compile(rf"[A-Z0-9][A-Z0-9_-]{{0,{LONGEST - 1}}}")
# Names that one system or another keeps for itself.
RESERVED = re.compile(r"CON|PRN|AUX|NUL|COM\d|LPT\d")


def records_folder(folder: Path) -> Path:
    """The folder in full. Raises UserError where it is none."""
    if not folder.is_dir():
        what = "is a file, not a folder of records" if folder.exists() else "does not exist"
        raise UserError(f"{folder} {what}; give the folder that holds installs, readings and callbacks.")
    return folder.resolve()


def output_folder(folder: Path, out: Path | None) -> Path:
    """Where a run on `folder` leaves its results. Raises UserError where that cannot be a folder of its own."""
    chosen = out.resolve() if out else usual_output(folder)
    if chosen == folder:
        raise UserError(f"--out is the folder of records itself ({folder}); choose another.")
    if chosen.is_file():
        raise UserError(f"--out {chosen} is a file; choose a folder.")
    for above in chosen.parents:
        if above.is_file():
            raise UserError(f"--out {chosen} lies below {above.name}, which is a file; choose a folder.")
    return chosen


def usual_output(folder: Path) -> Path:
    """The output folder of a run without --out: `<folder>-fitback` beside the folder."""
    folder = folder.resolve()
    return folder.with_name(f"{folder.name}-fitback")


def chosen_output(out: Path | None) -> Path:
    """The folder of results that a command reads: `out`, else the only `*-fitback` folder here.

    Raises UserError where there is none, or several.
    """
    if out is not None:
        if not (out / RESULTS).is_file():
            raise UserError(f"{out} holds no results; make them with fitback run first.")
        return out.resolve()
    found = outputs_here()
    if len(found) == 1:
        return found[0]
    if not found:
        raise UserError("There is no folder of results here; give it with --out DIR, or make one with fitback run.")
    raise UserError(
        f"There are several folders of results here; choose one: {' or '.join(f'--out {f.name}' for f in found)}."
    )


def outputs_here() -> list[Path]:
    """The `*-fitback` folders here that hold results; where there is none, that of the folder of records one is in."""
    here = Path.cwd()
    found = sorted(folder for folder in here.glob("*-fitback") if (folder / RESULTS).is_file())
    beside = usual_output(here)
    return found or ([beside] if (beside / RESULTS).is_file() else [])


def standing(out: Path) -> str:
    """What a run that did not end well left of the results in `out`, to be told in a sentence."""
    return "the last results are as they were" if (out / RESULTS).is_file() else "nothing was put in place"


@contextmanager
def left_as_found(out: Path) -> Iterator[None]:
    """Takes an output folder that was not there before away again when a run ends before it publishes anything.

    Unless another run, begun in the same moment, is at work in it.
    """
    new_folders = [folder for folder in (out, *out.parents) if not folder.exists()]
    try:
        yield
    except BaseException:
        if new_folders and not is_published(out):
            with suppress(UserError), locked(out, wait_seconds=0):
                shutil.rmtree(out, ignore_errors=True)
                for folder in new_folders[1:]:
                    with suppress(OSError):  # something else lies in it by now
                        folder.rmdir()
        raise


def demo_output() -> Path:
    """Where the demo leaves its results: a clone's `reports/`, else `./fitback-demo`."""
    from pipeline.demo.files import clone_folder  # its package loads the simulator

    clone = clone_folder()
    return clone / "reports" if clone else Path("fitback-demo")


def door_files(folder: Path, install_id: str) -> dict[str, Path]:
    """Where the files of a door lie: page, svg, png."""
    name = file_name(install_id)
    return {kind: folder / f"{name}.{ending}" for kind, ending in (("page", "html"), ("svg", "svg"), ("png", "png"))}


def file_name(install_id: str) -> str:
    """A name that any system takes and no other door has, however its number is written.

    A number of capitals and digits is its own name; any other keeps what is plain of it and is told apart by a digest,
    since systems differ in what they take for one name.
    """
    if PLAIN_NAME.fullmatch(install_id) and not RESERVED.fullmatch(install_id):
        return install_id
    kept = re.sub(r"[^A-Za-z0-9_-]+", "-", install_id)[:LONGEST].strip("-")
    digest = sha256(install_id.encode("utf-8", "surrogatepass")).hexdigest()[:8]
    return f"{kept}-{digest}" if kept else digest

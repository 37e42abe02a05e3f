"""The commands: reads arguments, runs the job, prints its answers. Knows exit codes and nothing of doors.

Heavy libraries are imported by the job, inside each command, so that `fitback --help` starts at once.
"""

import json
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Protocol, TypeVar

import typer

from pipeline.command_line import SHELLS, Command, Group, completion_script
from pipeline.errors import UserError
from pipeline.folders import demo_output, standing, usual_output
from pipeline.interrupts import load_libraries
from pipeline.terminal import finite, line_width, shown, shows_colour

if TYPE_CHECKING:
    from pipeline.ingest.matching.matched import MatchSummary
    from pipeline.recheck.listing import RecheckList

DONE, SET_ASIDE, CANNOT, OUR_FAULT, STOPPED = 0, 1, 2, 3, 130

app = typer.Typer(
    cls=Group,
    help="Says which fitting deviations of folding doors go with which service callbacks: what to train and change.",
    epilog="\b\nExamples:\n  fitback demo\n  fitback run doors2025\n  fitback run --help",
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)

Folder = Annotated[Path, typer.Argument(metavar="FOLDER", help="The folder of records.", show_default=False)]
Files = Annotated[list[Path], typer.Argument(metavar="FILE", help="Spreadsheets: .xlsx or .csv.")]
Out = Annotated[Path | None, typer.Option("--out", metavar="DIR", help="Where to leave tables and pages.")]
Quiet = Annotated[bool, typer.Option("--quiet", help="Tell nothing but the answers.")]
Json = Annotated[bool, typer.Option("--json", help="Print the answers as JSON.")]
Coded = Annotated[
    bool, typer.Option("--crew-codes", help="Show crews as codes on pages and in tables; the key is a file of its own.")
]
Strict = Annotated[bool, typer.Option("--strict", help="End with exit code 1 if rows are set aside or a file unread.")]


def _tell_version(is_asked: bool) -> None:
    if is_asked:
        from importlib.metadata import version

        typer.echo(f"fitback {version('fitback')}")
        raise typer.Exit


Version = Annotated[
    bool, typer.Option("--version", callback=_tell_version, is_eager=True, help="Tell the version and exit.")
]


class Summary(Protocol):
    """What a job hands back to be printed."""

    @property
    def sentences(self) -> list[str]:
        """Lines for a person."""

    def as_json(self) -> dict[str, Any]:
        """The same for a program."""


Told = TypeVar("Told", bound=Summary)


@app.callback()
def _common(version: Version = False) -> None:
    pass


@app.command(cls=Command)
def demo(out: Out = None, crew_codes: Coded = False, quiet: Quiet = False, as_json: Json = False) -> None:
    """Run everything on the invented firm that comes with fitback.

    In a clone the pages land in reports/, else in ./fitback-demo.

    Example: fitback demo --out /tmp/demo
    """

    def job() -> Summary:
        from pipeline.progress import showing
        from pipeline.run import run_demo

        with showing(quiet or as_json) as progress:
            return run_demo(out, progress, crew_codes)

    _print(_guarded(job, out or demo_output()), as_json)


@app.command(cls=Command)
def run(
    folder: Folder,
    out: Out = None,
    crew_codes: Coded = False,
    quiet: Quiet = False,
    as_json: Json = False,
    strict: Strict = False,
) -> None:
    """Take the records in and write tables and pages: the main job.

    FOLDER holds one or more files for each record, named after it: installs.csv, readings.xlsx, checks.csv,
    callbacks.csv, crews.csv, training.csv, instruments.csv. Only installs is needed.

    Results land in FOLDER-fitback beside it. Settings stand in FOLDER/fitback.toml.

    \b
    Examples:
      fitback run doors2025
      fitback run doors2025 --out results --json
    """

    def job() -> Summary:
        from pipeline.progress import showing
        from pipeline.run import run_firm

        with showing(quiet or as_json) as progress:
            return run_firm(folder, out, progress, crew_codes)

    summary = _guarded(job, out or usual_output(folder))
    _print(summary, as_json)
    _end_strictly(summary, strict)


@app.command(cls=Command, short_help="Tell what would be taken in and set aside; write nothing.")
def check(folder: Folder, quiet: Quiet = False, as_json: Json = False, strict: Strict = False) -> None:
    """Tell what would be taken in, set aside and linked; write nothing.

    Example: fitback check doors2025
    """

    def job() -> Summary:
        from pipeline.check import check_firm
        from pipeline.progress import showing

        with showing(quiet or as_json) as progress:
            return check_firm(folder, progress)

    summary = _guarded(job, Path(tempfile.gettempdir()))
    _print(summary, as_json)
    _end_strictly(summary, strict)


@app.command(cls=Command, short_help="Propose how your own spreadsheets are read.")
def match(files: Files, quiet: Quiet = False, as_json: Json = False, strict: Strict = False) -> None:
    """Propose how your own sheets are read: finds headers, says what each column is, shows the first rows.

    Writes [[sheet]] tables into the fitback.toml beside the files, between two marker lines; correct them in a text
    editor. From then on, fitback run takes in these files and next month's of the same name. Unreadable ones are told.

    Example: fitback match doors2025/*.xlsx
    """

    def job() -> "MatchSummary":
        from pipeline.ingest.matching.match import match_files

        return match_files(files, is_terminal=sys.stdout.isatty() and not as_json)

    summary = _guarded(job, Path(tempfile.gettempdir()))
    if not quiet or as_json:
        _print(summary, as_json)
    else:
        _warn(summary.warnings)
    _end_strictly(summary, strict)


@app.command(cls=Command, short_help="Write blank record sheets for a door of one size.")
def sheets(
    width: Annotated[float, typer.Option("--width", metavar="MM", help="Width of the frame.", show_default=False)],
    height: Annotated[float, typer.Option("--height", metavar="MM", help="Height of the frame.", show_default=False)],
    leaves: Annotated[int, typer.Option("--leaves", metavar="N", help="How many leaves.", show_default=False)],
    door: Annotated[str, typer.Option("--door", metavar="ID", help="The door's number, to be filled in.")] = "",
    firm: Annotated[Path | None, typer.Option("--for", metavar="FOLDER", help="Limits of its fitback.toml.")] = None,
    out: Annotated[Path | None, typer.Option("--out", metavar="DIR", help="Where to leave the sheets.")] = None,
    as_json: Json = False,
) -> None:
    """Write blank record sheets for a door: a page to print, and two workbooks that fitback run takes in as they are.

    They say in the order of the work what to read, where, within which limits, and where the fixings go.

    Example: fitback sheets --width 4200 --height 2100 --leaves 4 --door D-0042
    """
    folder = out or Path("fitback-sheets")

    def job() -> Summary:
        from pipeline.sheets.door import door_of
        from pipeline.sheets.write import write_sheets

        return write_sheets(door_of(width, height, leaves), folder, door.strip(), firm)

    _print(_guarded(job, folder), as_json)


@app.command(cls=Command, short_help="Draw one door as it was read; follow its numbers to their row.")
def door(
    install_id: Annotated[str, typer.Argument(metavar="ID", help="The door's number.", show_default=False)],
    with_people: Annotated[
        bool, typer.Option("--with-people", help="Its customer, address and notes too: personal data.")
    ] = False,
    out: Annotated[Path | None, typer.Option("--out", metavar="DIR", help="The results to look in.")] = None,
    as_json: Json = False,
) -> None:
    """Draw one door as it was read, and follow its numbers to the file, sheet and row they come from.

    Prints the trail; the sheet and the drawing (.html, .svg, .png) land in doors/ in the folder of results. Nobody is
    named, unless with --with-people: then they land in doors_with_people/. Without --out it looks in the only *-fitback
    folder here.

    Example: fitback door D-0042
    """

    def job() -> Summary:
        from pipeline.door.write import tell_door

        return tell_door(install_id, out, with_people)

    _print(_guarded(job, Path(tempfile.gettempdir())), as_json)


@app.command(cls=Command, short_help="Tell what to look at again on doors not yet handed over.")
def recheck(
    folder: Folder,
    doors: Annotated[
        Path, typer.Option("--doors", metavar="FOLDER2", help="The folder of new doors.", show_default=False)
    ],
    out: Annotated[Path | None, typer.Option("--out", metavar="DIR", help="The results to judge by.")] = None,
    quiet: Quiet = False,
    as_json: Json = False,
) -> None:
    """Tell what to look at again on new doors before they are handed over, the most callbacks avoided a minute first.

    FOLDER holds the records that fitback run has read; FOLDER2 the new doors in the same form. Nothing is written.

    Example: fitback recheck doors2025 --doors this-week
    """

    def job() -> "RecheckList":
        from pipeline.progress import showing
        from pipeline.recheck.doors import recheck_doors

        with showing(quiet or as_json) as progress:
            return recheck_doors(folder, doors, out, progress)

    found = _guarded(job, Path(tempfile.gettempdir()))
    if as_json or not sys.stdout.isatty():
        _print(found, as_json)
    else:
        from pipeline.recheck.terminal import show

        show(found)


@app.command(cls=Command, short_help="Erase a customer from the results; the figures stay.")
def forget(
    customer: Annotated[str, typer.Argument(metavar="CUSTOMER", help="The name, as written.", show_default=False)],
    address: Annotated[
        str | None, typer.Option("--address", metavar="TEXT", help="Part of address or postcode.")
    ] = None,
    door: Annotated[str | None, typer.Option("--door", metavar="ID", help="The number of a door of theirs.")] = None,
    every: Annotated[bool, typer.Option("--all", help="Everybody of that name.")] = False,
    out: Annotated[Path | None, typer.Option("--out", metavar="DIR", help="The results to erase from.")] = None,
    as_json: Json = False,
) -> None:
    """Erase a customer's name, address and notes everywhere in the results; the figures of the door stay.

    Where several have the name it lists them and erases nothing. Your own files are not changed; it tells which of
    their rows still hold the customer. Without --out it looks in the only *-fitback folder here.

    Example: fitback forget "Anna Example" --address "12 Elm Road"
    """

    def job() -> Summary:
        from pipeline.forget import forget_customer
        from pipeline.forget.persons import Wanted

        return forget_customer(Wanted(customer, address, door, every), out)

    _print(_guarded(job, Path(tempfile.gettempdir())), as_json)


def _table_names(incomplete: str) -> list[str]:
    """Names of tables, for the shell's completion: from the files that make them, which takes no time."""
    from pipeline.model_files import model_paths

    return sorted(name for name in model_paths() if name.startswith(incomplete))


@app.command(cls=Command, short_help="Tell what every table holds and what it is made of.")
def tables(
    name: Annotated[
        str | None,
        typer.Argument(metavar="[NAME]", help="One table.", show_default=False, autocompletion=_table_names),
    ] = None,
    every: Annotated[bool, typer.Option("--all", help="What results are made of as well.")] = False,
    out: Annotated[Path | None, typer.Option("--out", metavar="DIR", help="Results whose rows are counted.")] = None,
    as_json: Json = False,
) -> None:
    """The data dictionary: what every table holds, its key, its columns with their units, and what it is made of.

    It needs no results. Where there are some (--out, else the only *-fitback folder here) it counts their rows.

    \b
    Examples:
      fitback tables
      fitback tables effects
      fitback tables --all --json
    """

    def job() -> Summary:
        from pipeline.tables import list_tables

        return list_tables(name, out, every or as_json)

    _print(_guarded(job, Path(tempfile.gettempdir())), as_json)


@app.command(cls=Command, short_help="Let your shell complete commands and options.")
def completion(
    shell: Annotated[
        str,
        typer.Argument(
            metavar="SHELL", help="bash, zsh or fish.", show_default=False, autocompletion=lambda: list(SHELLS)
        ),
    ],
) -> None:
    """Print what a shell needs to complete commands, options and names of tables; nothing of yours is changed.

    \b
    Examples:
      fitback completion bash > ~/.local/share/bash-completion/completions/fitback
      fitback completion zsh > ~/.zfunc/_fitback      (where ~/.zfunc is in fpath, before compinit)
      fitback completion fish > ~/.config/fish/completions/fitback.fish
    """
    if shell not in SHELLS:
        raise _ended(CANNOT, f"fitback completes in {', '.join(SHELLS)}, not in '{shell}'; name one of them.")
    typer.echo(completion_script(shell))


def main() -> None:
    """The command `fitback`."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):  # a crew's name never breaks a terminal that cannot show it
            stream.reconfigure(errors="backslashreplace")
    app()


def _guarded(job: Callable[[], Told], out: Path) -> Told:
    """Runs the job. Whatever goes wrong ends as one sentence and an exit code, never as a traceback.

    out  the folder that the job writes into, which is also where a fault is logged
    """
    try:
        load_libraries()
        return job()
    except UserError as error:
        raise _ended(error.exit_code, str(error)) from None
    except KeyboardInterrupt:
        raise _ended(STOPPED, f"Stopped; {standing(out)}.") from None
    except Exception as error:
        from pipeline.fault_log import is_interrupt, out_of_room, told, write_fault

        if is_interrupt(error):
            raise _ended(STOPPED, f"Stopped; {standing(out)}.") from None
        if place := out_of_room(error):
            raise _ended(CANNOT, place) from None
        log = write_fault(out, error)
        details = f"; the details are in {log}" if log else ""
        message = f"fitback failed through a fault of its own ({told(error)}); {standing(out)}"
        raise _ended(OUR_FAULT, f"{message}{details}.") from None


def _ended(code: int, sentence: str) -> typer.Exit:
    _warn([sentence])
    return typer.Exit(code)


def _warn(sentences: list[str]) -> None:
    for line in shown(sentences, line_width(sys.stderr)):
        typer.echo(line, err=True)


def _print(summary: Summary, as_json: bool) -> None:
    if as_json:
        typer.echo(json.dumps(finite(summary.as_json()), indent=2, allow_nan=False))
        return
    has_colour = shows_colour(sys.stdout)
    for line in shown(summary.sentences, line_width(sys.stdout), has_colour):
        typer.echo(line, color=has_colour)


def _end_strictly(summary: Any, is_strict: bool) -> None:
    if is_strict and not summary.is_clean:
        raise typer.Exit(SET_ASIDE)

"""How the command line speaks: usage in plain words, and one sentence with the nearest name for what is misspelt."""

import re
import sys
from typing import Any

import typer
from typer.core import TyperCommand, TyperGroup
from typer.exceptions import TyperException

from pipeline.errors import as_sentence, nearest

NAME = "fitback"
COMPLETE_VARIABLE = "_FITBACK_COMPLETE"
SHELLS = ("bash", "zsh", "fish")
OF_TYPER = ("install_completion", "show_completion")  # they write into a person's own start-up files


class Command(TyperCommand):
    """A command whose help names its argument as the text below it does: FOLDER, without braces."""

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        """What was typed, read. The library's error about an option's value learns here which command it is about."""
        try:
            found: list[str] = super().parse_args(ctx, args)
        except TyperException as error:
            told: Any = error
            told.ctx = getattr(error, "ctx", None) or ctx
            raise
        return found

    def collect_usage_pieces(self, ctx: Any) -> list[str]:
        """The pieces of the usage line."""
        return [piece.replace("{", "").replace("}", "") for piece in super().collect_usage_pieces(ctx)]


class Group(TyperGroup):
    """The commands together. What cannot run as typed ends as one sentence and exit code 2."""

    def get_params(self, ctx: Any) -> list[Any]:
        """The options; the library's own ones for completion are shown nowhere: `fitback completion` does that."""
        found: list[Any] = super().get_params(ctx)
        for option in found:
            option.hidden = getattr(option, "hidden", False) or option.name in OF_TYPER
        return found

    def resolve_command(self, ctx: Any, args: list[str]) -> Any:
        """The command of that name. Raises the library's error with our sentence where there is none."""
        if not ctx.resilient_parsing and self.get_command(ctx, args[0]) is None and not args[0].startswith("-"):
            names = self.list_commands(ctx)
            near = nearest(args[0], names, count=1, cutoff=0.5)
            hint = f"did you mean {NAME} {near[0]}?" if near else f"there are {', '.join(names)}"
            ctx.fail(as_sentence(f"{NAME} has no command '{args[0]}'; {hint}"))
        return super().resolve_command(ctx, args)

    def main(self, *args: Any, **given: Any) -> Any:
        """Runs what was typed and ends the process, unless asked not to."""
        ends = given.pop("standalone_mode", True)
        try:
            code = super().main(*args, **{**given, "prog_name": NAME, "standalone_mode": False})
        except TyperException as error:
            if not ends:
                raise
            typer.echo(usage_sentence(error), err=True)
            sys.exit(error.exit_code)
        if ends:
            sys.exit(code if isinstance(code, int) else 0)
        return code


def usage_sentence(error: TyperException) -> str:
    """What is wrong with what was typed, in one sentence that says what to type; the help where nothing was typed."""
    context = getattr(error, "ctx", None)
    command = context.command_path if context else NAME
    kind, shown = type(error).__name__, f"{command} --help shows how"
    if kind == "NoArgsIsHelpError" or error.message.startswith(f"{NAME} has no command"):
        return error.message
    if kind == "NoSuchOption":
        return _no_such_option(error, command)
    if kind == "MissingParameter":
        return f"{command} needs {_parameter(error)}; {shown}."
    if kind == "BadOptionUsage" and " requires " in error.message:
        return f"{command} needs {_option(error, context)}; {shown}."
    if extra := re.fullmatch(r"Got unexpected extra argument(?:\(s\)|s)? \((.*)\)\.?", error.message):
        return f"{command} does not know what to do with '{extra[1]}'; {shown}."
    said = error.format_message().split(", unable", 1)[0].rstrip(".")
    return f"{command}: {said[:1].lower()}{said[1:]}; {shown}."


def _no_such_option(error: Any, command: str) -> str:
    known = [name for option in error.ctx.command.params for name in option.opts if name.startswith("--")]
    near = nearest(error.option_name, [*known, "--help"], count=1, cutoff=0.65)
    hint = f"did you mean {near[0]}?" if near else f"{command} --help lists them"
    return as_sentence(f"{command} has no option {error.option_name}; {hint}")


def _option(error: Any, context: Any) -> str:
    """An option that was typed without its value, with what belongs behind it: --doors FOLDER2."""
    known = context.command.params if context else []
    metavar = next((option.metavar for option in known if error.option_name in option.opts and option.metavar), "")
    example = f": {error.option_name} {metavar}" if metavar else ""
    return f"a value behind {error.option_name}{example}"


def _parameter(error: Any) -> str:
    """What is missing: FOLDER, or --width MM."""
    option = next((name for name in error.param.opts if name.startswith("--")), "")
    return " ".join(filter(None, (option, error.param.metavar or "")))


def completion_script(shell: str) -> str:
    """What a shell reads so that it completes our commands. shell: one of SHELLS."""
    from typer.completion import get_completion_script

    return get_completion_script(prog_name=NAME, complete_var=COMPLETE_VARIABLE, shell=shell)

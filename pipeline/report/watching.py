"""What the sheets say of each thing to watch, from watching.toml: how it is read, its picture, words of its sides."""

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

PLAIN = "strip"  # the picture of what does not stand in the list: its limit on a scale


@dataclass(frozen=True)
class Watching:
    """How one thing is watched.

    instrument, how  with what it is read, and where
    picture, place   which drawing shows its limit; where on the door, of the picture `place`
    limit            in words, where it is no number over nothing
    """

    instrument: str = ""
    how: str = ""
    picture: str = PLAIN
    place: str = ""
    limit: str = ""


@dataclass(frozen=True)
class SideWords:
    """plus, minus: which way it errs, in words, empty where that way is no error; the rest heads a column."""

    plus: str
    minus: str
    short: str
    low: str
    high: str

    def of(self, side: int) -> str:
        """The words of a side, empty for none."""
        return {1: self.plus, -1: self.minus}.get(side, "")


def watching(deviation: str) -> Watching:
    """How a deviation is watched; of a firm's own, its limit alone."""
    row = _rows()["watch"].get(deviation, {})
    return Watching(**{"instrument" if name == "with" else name: words for name, words in row.items()})


def side_words() -> dict[str, SideWords]:
    """By measure and member, joined by a blank where there is a member; in the order of the work."""
    return {name: SideWords(**row) for name, row in _rows()["side"].items()}


@cache
def _rows() -> dict[str, dict[str, dict[str, str]]]:
    return tomllib.loads(files("pipeline.report").joinpath("watching.toml").read_text(encoding="utf-8"))

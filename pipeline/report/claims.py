"""How often strong claims held on simulated firms, as the calibration study wrote it down."""

import tomllib
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from pipeline.report.numbers import Interval

FILE = Path(__file__).with_name("claims.toml")


@dataclass(frozen=True)
class Claims:
    """Claims called strong on one kind of firm, or on all. found_over_true: middle of estimate over truth."""

    firms: int
    claims: int
    held: int
    false: int
    share: float
    share_low: float
    share_high: float
    found_over_true: float | None = None
    name: str = ""

    @property
    def held_share(self) -> Interval:
        """Share whose interval held the truth."""
        return Interval(self.share, self.share_low, self.share_high)


@dataclass(frozen=True)
class Study:
    """When and on what it was measured."""

    measured_on: date
    seed: int
    doors: int
    whole: Claims
    scenarios: tuple[Claims, ...]


def claims_study(file: Path = FILE) -> Study:
    """The file's content. Raises KeyError where a part is missing."""
    read = tomllib.loads(file.read_text(encoding="utf-8"))
    scenarios = tuple(Claims(**part) for part in read["scenario"])
    return Study(read["measured_on"], read["seed"], read["doors"], Claims(**read["all"]), scenarios)

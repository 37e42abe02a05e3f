"""What is measured of one firm: each part takes the firm and some of its tables and gives one small frame."""

import inspect
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import polars as pl

from pipeline.demo.simulate import Firm
from tests.calibration.parts.causes import causes
from tests.calibration.parts.credibility import credibility
from tests.calibration.parts.crews import crews, steps
from tests.calibration.parts.curves import TABLES, curves
from tests.calibration.parts.outlook import outlook
from tests.calibration.parts.pairs import pairs
from tests.calibration.parts.priority import priority
from tests.calibration.parts.recheck import recheck
from tests.calibration.parts.training import training

Tables = dict[str, pl.DataFrame]


@dataclass(frozen=True)
class Part:
    """One part of the study. tables: those it reads; only: the scenarios it is measured in, none named: all."""

    name: str
    tables: tuple[str, ...]
    measure: Callable[[Firm, Tables], pl.DataFrame]
    only: tuple[str, ...] = ()

    @property
    def file(self) -> Path:
        """The module that measures it."""
        return Path(inspect.getfile(self.measure))


PARTS = (
    Part("pairs", ("effects",), pairs),
    Part("causes", ("callback_causes",), causes),
    Part("steps", ("weak_steps",), steps),
    Part("priority", ("weak_steps",), priority, only=("plain", "differing effects", "6 crews")),
    Part("crews", ("callback_rates",), crews),
    Part("credibility", ("record_credibility",), credibility),
    Part("curves", TABLES, curves, only=("plain", "null", "6 crews")),
    Part("outlook", ("outlook",), outlook),
    Part("recheck", ("recheck",), recheck),
    Part("training", ("training_effects",), training, only=("training",)),
)

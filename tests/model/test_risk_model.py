"""Risks foretold against simulated firms whose true risks are known: calibrated, and sharper than chance."""

from dataclasses import dataclass
from functools import cache

import numpy as np
import polars as pl
import pytest

from pipeline.demo import simulate
from pipeline.demo.make import SECTIONS
from pipeline.demo.next_year import chance_next_year
from pipeline.demo.simulate import Firm
from pipeline.demo.world import FAULTS
from pipeline.model.marts.recheck import _watched
from pipeline.model.risk_model import Calibration, FaultRisk, fault_risks
from pipeline.model.study import study_of
from tests.calibration.in_memory import tables_in_memory
from tests.calibration.parts.recheck import slope

TABLES = (
    "staged_installs", "door_time", "door_values", "door_limits", "episodes", "recheck_doors",
    "catalogue_deviations", "catalogue_pairs", "settings",
)  # fmt: skip
WHOLE = {"doors": 1500, "crews": 10, "callbacks_per_door": 0.6}
GAPS = {**WHOLE, "recorded": 0.8, "sections": SECTIONS, "leaves_out_bad": 0.15, "site_frailty": 0.2, "season": 0.4}
NOTHING = {**WHOLE, "effect_scale": 0.0}


@dataclass(frozen=True)
class Foretold:
    """Risks of the newest doors: fault, risk, low, high, true; and how they were judged."""

    rows: pl.DataFrame
    risks: list[FaultRisk]
    calibration: Calibration


@cache
def foretold(kind: str, seed: int) -> Foretold:
    """What is foretold of a firm's newest doors, beside their true chances."""
    firm = simulate(seed=seed, **{"gaps": GAPS, "whole": WHOLE, "nothing": NOTHING}[kind])
    t = tables_in_memory(firm, TABLES)
    watched = _watched(t["door_time"], t["staged_installs"], t["recheck_doors"])
    catalogue = (t["catalogue_deviations"], t["catalogue_pairs"])
    study = study_of(watched, t["staged_installs"], t["door_values"], t["door_limits"], catalogue, t["settings"])
    doors = pl.DataFrame({"install_id": watched.install_ids}).with_row_index("row")
    started = doors.join(t["staged_installs"], on="install_id", how="left", maintain_order="left")["started_on"]
    new = doors.join(t["recheck_doors"], on="install_id", maintain_order="left")
    risks, calibration = fault_risks(study, t["episodes"], started, new["row"].to_numpy())
    return Foretold(_beside_truth(firm, risks, new), risks, calibration)


def _beside_truth(firm: Firm, risks: list[FaultRisk], new: pl.DataFrame) -> pl.DataFrame:
    numbers = firm.doors.installs.select("install_id").with_row_index("door")
    door = new.join(numbers, on="install_id", how="left", maintain_order="left")["door"].to_numpy()
    at, age = new["row"].to_numpy(), new["age_days"].to_numpy() / 365.25
    frames = []
    for risk in risks:
        if risk.fault in FAULTS:
            low, high = risk.interval(age, 1.0, risk.score[at])
            frames.append(
                pl.DataFrame(
                    {"risk": risk.within(age, 1.0, risk.score[at]), "low": low, "high": high,
                     "true": chance_next_year(firm, risk.fault)[door]}
                ).with_columns(fault=pl.lit(risk.fault))
            )  # fmt: skip
    return pl.concat(frames)


@pytest.mark.parametrize("seed", [1, 5, 7])
def test_where_much_is_not_recorded_differences_are_neither_overstated_nor_drawn_in_by_chance(seed):
    """An unlucky slope of few later callbacks, taken at its word, once brought such firms to 1.5 and 1.7."""
    assert 0.8 <= slope(foretold("gaps", seed).rows) <= 1.2


@pytest.mark.parametrize("seed", [1, 2])
def test_full_records_foretell_well(seed):
    found = foretold("whole", seed)
    assert 0.85 <= slope(found.rows) <= 1.15
    by_fault = found.rows.group_by("fault").agg(pl.corr(pl.col("risk").log(), pl.col("true").log()), pl.len())
    assert by_fault["risk"].mean() > 0.7


@pytest.mark.parametrize(("kind", "least"), [("whole", 0.93), ("gaps", 0.75)])
def test_intervals_hold_true_risks_but_for_what_is_not_recorded(kind, least):
    rows = foretold(kind, 1).rows
    assert (rows["low"] <= rows["risk"]).all()
    assert (rows["risk"] <= rows["high"]).all()
    assert rows.select(pl.col("true").is_between("low", "high").mean()).item() >= least


def test_the_sums_of_risks_are_those_that_come():
    rows = foretold("whole", 2).rows
    assert rows["risk"].sum() == pytest.approx(rows["true"].sum(), rel=0.15)


def test_what_is_trusted_lies_between_what_was_seen_and_all():
    calibration = foretold("gaps", 7).calibration
    assert calibration.slope is not None
    assert min(calibration.slope.slope, 1.0) - 1e-9 <= calibration.kept <= 1.0


def test_where_nothing_matters_doors_are_foretold_nearly_alike():
    spread = np.mean([risk.score.std() for risk in foretold("nothing", 3).risks])
    assert spread < 0.6 * np.mean([risk.score.std() for risk in foretold("whole", 1).risks])

"""What comes back in the year after the last day, from the doors that are out by then: what an outlook should say."""

import numpy as np
import polars as pl

from pipeline.demo.arrays import Floats, Ints
from pipeline.demo.callbacks import OTHERS
from pipeline.demo.hazards import (
    Events,
    age_at,
    days_at_risk,
    expected_reports,
    log_risk,
    pace_so_far,
    scaled_to,
    season_at,
)
from pipeline.demo.simulate import Firm
from pipeline.demo.world import FAULTS, FaultWorld

YEAR = 365


def next_year(firm: Firm) -> pl.DataFrame:
    """One row per callback reported in the 365 days after the last day: install_id, day after it (1 ...), fault.

    Doors already out only; repeat visits, product, use and calls without a fault included, as in the records.
    """
    rng = np.random.default_rng([firm.scenario.seed, 13])
    rows = [_rows(_again(_faults_next(firm, fault, rng), fault, firm, rng), fault) for fault in FAULTS]
    rows += [_rows(events, fault) for fault, events in _others(firm, rng)]
    day = pl.col("day") - firm.scenario.days
    table = pl.concat(rows).with_columns(day).filter(pl.col("day").is_between(1, YEAR)).sort("day", "door", "fault")
    return table.select(firm.doors.installs["install_id"].gather(table["door"]), "day", "fault")


def chance_next_year(firm: Firm, fault: str) -> Floats:
    """(doors,) chance of a report of one fault within that year for a door that has had none."""
    (before, after), scale = _window(firm, FAULTS[fault], _risk(firm, fault), expected_reports(fault, firm.scenario))
    return np.asarray(-np.expm1(-scale * (after - before)))


def _risk(firm: Firm, fault: str) -> Floats:
    return np.asarray(np.exp(log_risk(fault, firm.doors, firm.true, firm.scenario) + firm.frailty))


def _window(firm: Firm, world: FaultWorld, risk: Floats, expected: float) -> tuple[tuple[Floats, Floats], Floats]:
    """Relative hazard gathered at the start and at the end of the year, and reports for one unit of it, per door."""
    now = days_at_risk(firm.doors, firm.scenario)
    end = (np.minimum(firm.doors.removed_day, firm.scenario.days + YEAR) - firm.doors.started_day).clip(now)
    before = pace_so_far(now, world)
    mean = scaled_to(expected, risk * before, firm.scenario.recurs)
    return (before, pace_so_far(end, world)), risk * mean.sum() / (risk * before).sum()


def _drawn(firm: Firm, world: FaultWorld, risk: Floats, expected: float, rng: np.random.Generator) -> Events:
    (before, after), scale = _window(firm, world, risk, expected)
    swing = firm.scenario.season if world.peak_day is not None else 0.0
    count = rng.poisson(scale * (after - before) * (1 + swing))
    door = np.repeat(np.arange(len(risk)), count)
    age = age_at(before[door] + rng.random(len(door)) * (after - before)[door], world)
    day = firm.doors.started_day[door] + np.ceil(age).astype(np.int64)
    is_kept = rng.random(len(door)) * (1 + swing) <= 1 + swing * season_at(day, world, firm.scenario)
    return Events(door[is_kept], day[is_kept])


def _faults_next(firm: Firm, fault: str, rng: np.random.Generator) -> Events:
    """Reports of a fault; of those that follow an earlier one of the same door only the share that recurs."""
    drawn = _drawn(firm, FAULTS[fault], _risk(firm, fault), expected_reports(fault, firm.scenario), rng)
    order = np.lexsort((drawn.day, drawn.door))
    door, day = drawn.door[order], drawn.day[order]
    had_one = np.isin(door, firm.events[fault].door)
    is_first = np.concatenate([[True], door[1:] != door[:-1]])[: len(door)] & ~had_one
    is_kept = is_first | (rng.random(len(door)) < firm.scenario.recurs)
    return Events(door[is_kept], day[is_kept])


def _again(events: Events, fault: str, firm: Firm, rng: np.random.Generator) -> Events:
    """The reports with the repeat visits that follow, those after the last reports on record included."""
    before = firm.events[fault]
    door = np.concatenate([before.door, events.door])
    day = np.concatenate([before.day, events.day])
    again = rng.random(len(door)) < FAULTS[fault].repeats * firm.scenario.repeat_scale
    later = day[again] + rng.integers(2, 22, int(again.sum()))
    is_next = later > firm.scenario.days
    return Events(
        np.concatenate([events.door, door[again][is_next]]), np.concatenate([events.day, later[is_next]])
    )  # fmt: skip


def _others(firm: Firm, rng: np.random.Generator) -> list[tuple[str, Events]]:
    scenario = firm.scenario
    shares = {"none": scenario.no_fault_share, "product": scenario.product_share, "use": scenario.use_share}
    even = np.ones(len(firm.doors.crew))
    return [
        (fault, _drawn(firm, pace, even, shares[who] * scenario.callbacks_per_door * scenario.doors * share, rng))
        for who, faults, pace in OTHERS
        for fault, share in faults.items()
    ]


def _rows(events: Events, fault: str) -> pl.DataFrame:
    door: Ints = events.door
    return pl.DataFrame({"door": door, "day": events.day}).with_columns(fault=pl.lit(fault))

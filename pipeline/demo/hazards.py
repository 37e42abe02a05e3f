"""When callbacks come: a Poisson process for each door and fault, log-linear in the true deviations."""

from dataclasses import dataclass

import numpy as np

from pipeline.demo.arrays import Floats, Ints
from pipeline.demo.crews import Crews
from pipeline.demo.doors import Doors
from pipeline.demo.scenario import DAYS_A_YEAR, Scenario
from pipeline.demo.world import AGES, FAULTS, FaultWorld


@dataclass(frozen=True)
class Events:
    """Reports of one fault: door numbers and days since the firm's first day."""

    door: Ints
    day: Ints


def fault_events(
    doors: Doors, crews: Crews, true: dict[str, Floats], scenario: Scenario, rng: np.random.Generator
) -> dict[str, Events]:
    """All reports that fitting caused, by fault, without repeat visits."""
    weights = sum(world.weight for world in FAULTS.values())
    other = scenario.no_fault_share + scenario.product_share + scenario.use_share + scenario.pre_handover_share
    rows = scenario.callbacks_per_door * scenario.doors * (1 - other)
    frailty = _frailty(doors, crews, scenario, rng)
    events = {}
    for fault, world in FAULTS.items():
        risk = np.exp(log_risk(world, doors, true, scenario.effect_scale) + frailty)
        expected = rows * world.weight / weights / (1 + world.repeats * scenario.repeat_scale)
        events[fault] = draw_events(risk, expected, world, doors, scenario, rng)
    return events


def log_risk(world: FaultWorld, doors: Doors, true: dict[str, Floats], effect_scale: float) -> Floats:
    """The log of each door's hazard of one fault, up to a constant, without frailty."""
    size = len(doors.crew)
    total = np.zeros(size)
    for name, effect in world.effects.items():
        total += effect_scale * effect * (true[name] - true[name].mean())
    for trait, effect in world.mix.items():
        total += effect * doors.traits[trait]
    return total


def _frailty(doors: Doors, crews: Crews, scenario: Scenario, rng: np.random.Generator) -> Floats:
    sites = rng.normal(0.0, scenario.site_frailty, int(doors.site[-1]) + 1)
    return crews.frailty[doors.crew] + sites[doors.site] + rng.normal(0.0, scenario.door_frailty, len(doors.crew))


def days_at_risk(doors: Doors, scenario: Scenario) -> Floats:
    """Days from handover to removal or the last day."""
    return (np.minimum(doors.removed_day, scenario.days) - doors.started_day).clip(0.0)


def draw_events(
    risk: Floats, expected: float, world: FaultWorld, doors: Doors, scenario: Scenario, rng: np.random.Generator
) -> Events:
    """Reports by inversion of the cumulative hazard, scaled so that `expected` come over all doors."""
    grown = _pace_so_far(days_at_risk(doors, scenario), world)
    swing = scenario.season if world.peak_day is not None else 0.0
    mean = risk * grown
    count = rng.poisson(mean * (expected / mean.sum()) * (1 + swing))
    door = np.repeat(np.arange(len(risk)), count)
    age = _age_at(rng.random(len(door)) * grown[door], world)
    day = doors.started_day[door] + age.astype(np.int64)
    is_kept = rng.random(len(door)) * (1 + swing) <= 1 + swing * _season(day, world, scenario)
    return Events(door[is_kept], day[is_kept])


def _pace_so_far(days: Floats, world: FaultWorld) -> Floats:
    edges, sums = _pace_table(world)
    return np.interp(days, edges, sums)


def _age_at(so_far: Floats, world: FaultWorld) -> Floats:
    edges, sums = _pace_table(world)
    return np.interp(so_far, sums, edges)


def _pace_table(world: FaultWorld) -> tuple[Floats, Floats]:
    edges = np.array([*AGES, 100 * DAYS_A_YEAR])
    return edges, np.concatenate([[0.0], np.cumsum(np.diff(edges) * np.array(world.pace))])


def _season(day: Ints, world: FaultWorld, scenario: Scenario) -> Floats:
    day_of_year = day + scenario.starts_on.timetuple().tm_yday
    return np.cos(2 * np.pi * (day_of_year - (world.peak_day or 0)) / DAYS_A_YEAR)

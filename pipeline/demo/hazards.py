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
    doors: Doors, frailty: Floats, true: dict[str, Floats], scenario: Scenario, rng: np.random.Generator
) -> dict[str, Events]:
    """All reports that fitting caused, by fault, without repeat visits."""
    events = {}
    for fault, world in FAULTS.items():
        risk = np.exp(log_risk(fault, doors, true, scenario) + frailty)
        events[fault] = draw_events(risk, expected_reports(fault, scenario), world, doors, scenario, rng)
    return events


def expected_reports(fault: str, scenario: Scenario) -> float:
    """Reports of a fault that fitting causes, over all doors, repeat visits not counted."""
    other = scenario.no_fault_share + scenario.product_share + scenario.use_share + scenario.pre_handover_share
    rows = scenario.callbacks_per_door * scenario.doors * (1 - other)
    world, weights = FAULTS[fault], sum(world.weight for world in FAULTS.values())
    return rows * world.weight / weights / (1 + world.repeats * scenario.repeat_scale)


def log_risk(
    fault: str, doors: Doors, true: dict[str, Floats], scenario: Scenario, means: dict[str, float] | None = None
) -> Floats:
    """The log of each door's hazard of one fault, up to a constant, without frailty.

    means  what the deviations are counted from; None: their own means
    """
    world = FAULTS[fault]
    total = np.zeros(len(doors.crew))
    for name, effect in world.effects.items():
        mean = true[name].mean() if means is None else means[name]
        total += scenario.effect_scale * effect * _of_crew(fault, name, doors, scenario) * (true[name] - mean)
    for trait, effect in world.mix.items():
        total += effect * doors.traits[trait]
    return total


def _of_crew(fault: str, name: str, doors: Doors, scenario: Scenario) -> Floats | float:
    """What a door's crew makes of an effect: 1 on average."""
    if not scenario.effects_differ:
        return 1.0
    rng = np.random.default_rng([scenario.seed, 7, list(FAULTS).index(fault), list(FAULTS[fault].effects).index(name)])
    return (1.0 + scenario.effects_differ * rng.standard_normal(scenario.crews))[doors.crew]


def door_frailty(doors: Doors, crews: Crews, scenario: Scenario, rng: np.random.Generator) -> Floats:
    """The log of what nothing recorded explains, one value a door: its crew's, its site's and its own."""
    sites = rng.normal(0.0, scenario.site_frailty, int(doors.site[-1]) + 1)
    return crews.frailty[doors.crew] + sites[doors.site] + rng.normal(0.0, scenario.door_frailty, len(doors.crew))


def days_at_risk(doors: Doors, scenario: Scenario) -> Floats:
    """Days from handover to removal or the last day."""
    return (np.minimum(doors.removed_day, scenario.days) - doors.started_day).clip(0.0)


def draw_events(
    risk: Floats, expected: float, world: FaultWorld, doors: Doors, scenario: Scenario, rng: np.random.Generator
) -> Events:
    """Reports by inversion of the cumulative hazard, scaled so that about `expected` come over all doors.

    A visit mends most doors: of what would follow a door's first report only the share `scenario.recurs` comes.
    """
    grown = pace_so_far(days_at_risk(doors, scenario), world)
    swing = scenario.season if world.peak_day is not None else 0.0
    mean = scaled_to(expected, risk * grown, scenario.recurs)
    count = rng.poisson(mean * (1 + swing))
    door = np.repeat(np.arange(len(risk)), count)
    age = age_at(rng.random(len(door)) * grown[door], world)
    day = doors.started_day[door] + age.astype(np.int64)
    is_kept = rng.random(len(door)) * (1 + swing) <= 1 + swing * season_at(day, world, scenario)
    return _mended(Events(door[is_kept], day[is_kept]), scenario.recurs, rng)


def scaled_to(expected: float, mean: Floats, recurs: float) -> Floats:
    """Means in the same proportions for which first reports and what recurs of the others add up to `expected`."""
    low, high = -20.0, 20.0
    mean = mean / mean.mean()
    for _ in range(50):
        middle = (low + high) / 2
        first = -np.expm1(-mean * np.exp(middle))
        total = (first + recurs * (mean * np.exp(middle) - first)).sum()
        low, high = (middle, high) if total < expected else (low, middle)
    return mean * np.exp(low)


def _mended(events: Events, recurs: float, rng: np.random.Generator) -> Events:
    order = np.lexsort((events.day, events.door))
    door, day = events.door[order], events.day[order]
    is_first = np.concatenate([[True], door[1:] != door[:-1]])[: len(door)]
    is_kept = is_first | (rng.random(len(door)) < recurs)
    return Events(door[is_kept], day[is_kept])


def expected_first_reports(
    risk: Floats, expected: float, world: FaultWorld, doors: Doors, scenario: Scenario
) -> tuple[Floats, Floats]:
    """Time until the first report, years, and first reports in each interval of age, as expected; shapes (doors, 5).

    What an endless number of firms with these same doors would show on average.
    """
    end = days_at_risk(doors, scenario)
    mean = scaled_to(expected, risk * pace_so_far(end, world), scenario.recurs)
    scale = mean / np.maximum(pace_so_far(end, world), 1e-12)
    edges = np.array([*AGES, 100 * DAYS_A_YEAR])
    days = np.clip(end[:, None] - edges[:-1], 0.0, np.diff(edges))
    grown = scale[:, None] * days * np.array(world.pace)
    survived = np.exp(grown - np.cumsum(grown, axis=1))
    events = survived * -np.expm1(-grown)
    # events = hazard x time, so time follows; where nothing grew no time passed
    time = np.where(days > 0, events * days / np.where(grown > 0, grown, 1.0), 0.0)
    return time / DAYS_A_YEAR, events


def pace_so_far(days: Floats, world: FaultWorld) -> Floats:
    """Relative hazard gathered by that age, in days."""
    edges, sums = _pace_table(world)
    return np.interp(days, edges, sums)


def age_at(so_far: Floats, world: FaultWorld) -> Floats:
    """The age, days, at which that much relative hazard is gathered."""
    edges, sums = _pace_table(world)
    return np.interp(so_far, sums, edges)


def _pace_table(world: FaultWorld) -> tuple[Floats, Floats]:
    edges = np.array([*AGES, 100 * DAYS_A_YEAR])
    return edges, np.concatenate([[0.0], np.cumsum(np.diff(edges) * np.array(world.pace))])


def season_at(day: Ints, world: FaultWorld, scenario: Scenario) -> Floats:
    """Where a day stands between the best (-1) and the worst (1) of the year."""
    day_of_year = day + scenario.starts_on.timetuple().tm_yday
    return np.cos(2 * np.pi * (day_of_year - (world.peak_day or 0)) / DAYS_A_YEAR)

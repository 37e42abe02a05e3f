"""What a crew would truly spare in a step if it were as careful there as the firm's better half: callbacks a year.

Chance is taken out: doors are drawn anew with the crew's own carelessness and with that of each crew of the better
half in that one step, everything else as it was, from the same random numbers, and true hazards are held against each
other. Earlier steps stay as the crew makes them; what the step does through later steps is counted.
"""

from dataclasses import replace

import numpy as np
import polars as pl

from pipeline.demo.arrays import Flags, Floats, Ints
from pipeline.demo.hazards import days_at_risk, log_risk, pace_so_far
from pipeline.demo.simulate import Firm
from pipeline.demo.true_outs import is_out_in
from pipeline.demo.true_ratios import drawn_anew, reports_per_hazard
from pipeline.demo.world import FAULTS

DRAWS, PARTS = 24, 12  # of deviations; of the year
YEAR, REPEAT = 365, 28  # days


def true_priorities(firm: Firm, draws: int = DRAWS) -> pl.DataFrame:
    """One row per crew and step: crew, step, true_priority (callbacks in the last 365 days; may be below 0).

    The better half: the crews at or below the median of the share of doors out that they make in the long run.
    """
    crews, steps = firm.crews.names, firm.catalogue.steps
    doors = np.bincount(firm.doors.crew, minlength=len(crews)).astype(float)
    seen = reports_per_hazard(firm)
    own, out = np.zeros(len(crews)), np.zeros((len(steps), len(crews)))
    for draw in range(draws):
        again = _drawn(firm, firm.crews.carelessness, draw)
        own += _a_year(again, firm, seen) / draws
        out += [
            np.bincount(firm.doors.crew, is_out_in(again, step), len(crews)) / np.maximum(doors, 1) for step in steps
        ]
    rows = []
    for number, step in enumerate(steps):
        spared = own - _as_the_better_half(firm, seen, (number, out[number], doors), draws)
        rows += [(crew, step, float(value)) for crew, value in zip(crews, spared, strict=True)]
    return pl.DataFrame(rows, schema=["crew", "step", "true_priority"], orient="row")


def _as_the_better_half(firm: Firm, seen: dict[str, float], of_step: tuple[int, Floats, Floats], draws: int) -> Floats:
    """(crews,) callbacks a year of each crew with each carelessness of the better half in turn, weighted by doors."""
    number, out, doors = of_step
    better: Ints = np.flatnonzero((doors > 0) & _lower_half(out, doors > 0))
    total, weight = np.zeros(len(doors)), np.zeros(len(doors))
    for draw in range(draws):
        model = better[draw % len(better)]
        careless = firm.crews.carelessness.copy()
        careless[:, number] = careless[model, number]
        share = doors[model] / (draws // len(better) + (draw % len(better) < draws % len(better)))
        total += share * _a_year(_drawn(firm, careless, draw), firm, seen)
        weight += share
    return total / weight


def _lower_half(out: Floats, has_doors: Flags) -> Flags:
    return np.asarray(out <= np.median(out[has_doors]))


def _drawn(firm: Firm, carelessness: Floats, draw: int) -> Firm:
    rng = np.random.default_rng([firm.scenario.seed, 15, draw])
    return drawn_anew(firm, firm.doors, replace(firm.crews, carelessness=carelessness), rng)


def _a_year(other: Firm, firm: Firm, seen: dict[str, float]) -> Floats:
    """(crews,) episodes that the firm's doors, with the deviations of `other`, are to expect in the last 365 days.

    A door's further reports of a fault open one only after 28 days without any, as in the records.
    """
    means = {name: float(values.mean()) for name, values in firm.true.items()}
    now, recurs = days_at_risk(firm.doors, firm.scenario), firm.scenario.recurs
    before = np.minimum(firm.scenario.days - YEAR - firm.doors.started_day, now).clip(0.0)
    edges = before[:, None] + (now - before)[:, None] * np.linspace(0, 1, PARTS + 1)
    middles = (edges[:, 1:] + edges[:, :-1]) / 2
    total = np.zeros(len(now))
    for fault, world in FAULTS.items():
        risk = seen[fault] * np.exp(log_risk(fault, firm.doors, other.true, firm.scenario, means) + firm.frailty)
        grown = risk[:, None] * pace_so_far(edges, world)
        earlier, so_far = (risk[:, None] * pace_so_far(days.clip(0.0), world) for days in (middles - REPEAT, middles))
        again = recurs * np.diff(grown, axis=1) * -np.expm1(-earlier) * np.exp(-recurs * (so_far - earlier))
        total += np.exp(-grown[:, 0]) - np.exp(-grown[:, -1]) + again.sum(axis=1)
    return np.bincount(firm.doors.crew, total, len(firm.crews.names)).astype(np.float64)

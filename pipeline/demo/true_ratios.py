"""How each crew truly compares: its callbacks against those of all crews on the same doors, chance taken out.

Deviations are drawn anew, many times, for the crew as careless as it is and for the same doors in the hands of any
crew of the firm; what is left of chance is a percent or two.
"""

from dataclasses import replace

import numpy as np
import polars as pl

from pipeline.demo.arrays import Floats, Ints
from pipeline.demo.deviations import draw_deviations
from pipeline.demo.hazards import days_at_risk, expected_reports, log_risk, pace_so_far, scaled_to
from pipeline.demo.simulate import Firm
from pipeline.demo.world import FAULTS

DRAWS = 12


def true_crew_ratios(firm: Firm) -> pl.DataFrame:
    """One row per crew: crew, true_ratio; expectations by other hands sum to all callbacks, as in `callback_rates`."""
    rng = np.random.default_rng([firm.scenario.seed, 14])
    crews = len(firm.crews.names)
    own, others = np.zeros(crews), np.zeros(crews)
    for _ in range(DRAWS):
        other = rng.integers(0, crews, len(firm.doors.crew))
        own += np.bincount(firm.doors.crew, expected_callbacks(firm, firm.doors.crew, rng), crews)
        others += np.bincount(firm.doors.crew, expected_callbacks(firm, other, rng), crews)
    ratio = own / np.where(others > 0, others, np.nan) * others.sum() / own.sum()
    return pl.DataFrame({"crew": firm.crews.names, "true_ratio": ratio})


def expected_callbacks(firm: Firm, crew: Ints, rng: np.random.Generator) -> Floats:
    """Callbacks for faults of fitting that each door is to expect, had these crews fitted it; shape (doors,)."""
    doors = replace(firm.doors, crew=crew)
    true = draw_deviations(doors, firm.crews, firm.scenario, firm.catalogue, rng)
    means = {name: float(values.mean()) for name, values in firm.true.items()}
    days, recurs = days_at_risk(doors, firm.scenario), firm.scenario.recurs
    total = np.zeros(len(crew))
    for fault, world in FAULTS.items():
        grown = pace_so_far(days, world)
        seen = np.exp(log_risk(fault, firm.doors, firm.true, firm.scenario, means) + firm.frailty) * grown
        scale = scaled_to(expected_reports(fault, firm.scenario), seen, recurs).sum() / seen.sum()
        risk = np.exp(log_risk(fault, doors, true, firm.scenario, means) + firm.crews.frailty[crew])
        mean = scale * risk * grown
        first = -np.expm1(-mean)
        total += first + recurs * (mean - first)
    return total

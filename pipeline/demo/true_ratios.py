"""How each crew truly compares: its callbacks against those of all crews on the same doors, chance taken out.

Two truths. Of the doors that it made: only when callbacks come is chance. Of the crew as careless as it is: how well
its doors turned out is chance as well, and they are drawn anew, many times. Both against the same doors in the hands of
any crew of the firm, drawn anew; what is left of chance is a few percent, less with more draws.
"""

from collections.abc import Iterable
from dataclasses import replace

import numpy as np
import polars as pl

from pipeline.demo.arrays import Floats, Ints
from pipeline.demo.crews import Crews
from pipeline.demo.deviations import draw_deviations
from pipeline.demo.doors import Doors
from pipeline.demo.hazards import days_at_risk, expected_reports, log_risk, pace_so_far, scaled_to
from pipeline.demo.simulate import Firm
from pipeline.demo.world import FAULTS

DRAWS = 12


def true_crew_ratios(firm: Firm, draws: int = DRAWS) -> pl.DataFrame:
    """One row per crew: crew, true_ratio (of its doors), lasting_ratio (of the crew), steps_ratio, rest_ratio.

    Expectations by other hands sum to all callbacks, as in `callback_rates`. steps_ratio is what true_ratio would be
    did crews differ in nothing but their deviations, rest_ratio what is left of it.
    """
    rng = np.random.default_rng([firm.scenario.seed, 14])
    crews, seen = len(firm.crews.names), reports_per_hazard(firm)
    own, others, others_alike = np.zeros(crews), np.zeros(crews), np.zeros(crews)
    alike = replace(firm, crews=replace(firm.crews, frailty=np.zeros(crews)))
    for _ in range(draws):
        again = drawn_anew(firm, firm.doors, firm.crews, rng)
        own += np.bincount(firm.doors.crew, expected_callbacks(again, firm, seen), crews)
        anybody = replace(firm.doors, crew=rng.integers(0, crews, len(firm.doors.crew)))
        other = drawn_anew(firm, anybody, firm.crews, rng)
        others += np.bincount(firm.doors.crew, expected_callbacks(other, firm, seen), crews)
        others_alike += np.bincount(firm.doors.crew, expected_callbacks(other, alike, seen), crews)
    made = np.bincount(firm.doors.crew, expected_callbacks(firm, firm, seen), crews)
    made_alike = np.bincount(firm.doors.crew, expected_callbacks(firm, alike, seen), crews)
    true, lasting, steps = (
        _against(part, other) for part, other in ((made, others), (own, others), (made_alike, others_alike))
    )
    columns = {"true_ratio": true, "lasting_ratio": lasting, "steps_ratio": steps, "rest_ratio": true / steps}
    return pl.DataFrame({"crew": firm.crews.names, **columns})


def _against(part: Floats | Ints, other: Floats) -> Floats:
    """Callbacks of each crew over those by other hands, which sum to the same."""
    share = other / other.sum()
    return np.asarray(part / part.sum() / np.where(share > 0, share, np.nan))


def drawn_anew(firm: Firm, doors: Doors, crews: Crews, rng: np.random.Generator) -> Firm:
    """The firm with other doors or crews, and deviations as those crews would have made them; its records stay."""
    true = draw_deviations(doors, crews, firm.scenario, firm.catalogue, rng)
    return replace(firm, doors=doors, crews=crews, true=true)


def reports_per_hazard(firm: Firm) -> dict[str, float]:
    """By fault, how many reports a unit of relative hazard brought the firm."""
    found = {}
    for fault, world in FAULTS.items():
        grown = pace_so_far(days_at_risk(firm.doors, firm.scenario), world)
        seen = np.exp(log_risk(fault, firm.doors, firm.true, firm.scenario) + firm.frailty) * grown
        reports = scaled_to(expected_reports(fault, firm.scenario), seen, firm.scenario.recurs)
        found[fault] = float(reports.sum() / seen.sum())
    return found


def expected_callbacks(
    other: Firm, firm: Firm, reports: dict[str, float], faults: Iterable[str] = tuple(FAULTS)
) -> Floats:
    """Callbacks for these faults of fitting that each door of `other` is to expect; shape (doors,).

    other, firm   the firm drawn anew, and the one it was drawn from; reports: its reports_per_hazard
    """
    means = {name: float(values.mean()) for name, values in firm.true.items()}
    days, recurs = days_at_risk(other.doors, firm.scenario), firm.scenario.recurs
    total = np.zeros(len(other.doors.crew))
    for fault in faults:
        risk = np.exp(log_risk(fault, other.doors, other.true, firm.scenario, means))
        mean = reports[fault] * risk * np.exp(firm.crews.frailty[other.doors.crew]) * pace_so_far(days, FAULTS[fault])
        first = -np.expm1(-mean)
        total += first + recurs * (mean - first)
    return total

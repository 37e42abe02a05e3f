"""What each training truly did: the trained crew's later doors against the same doors had it not been trained."""

from dataclasses import replace

import numpy as np
import polars as pl

from pipeline.demo.arrays import Ints
from pipeline.demo.crews import Crews
from pipeline.demo.doors import Doors
from pipeline.demo.simulate import Firm
from pipeline.demo.true_outs import is_out_in
from pipeline.demo.true_ratios import drawn_anew, expected_callbacks, reports_per_hazard
from pipeline.demo.world import FAULTS

DRAWS = 40


def true_training_ratios(firm: Firm) -> pl.DataFrame:
    """One row per trained crew, step and outcome: crew, step, outcome, true_ratio.

    outcome  out_share, or callbacks of faults linked to the step, where there are such
    A crew trained in one step more than once: from its first session on, all of them together.
    """
    rng = np.random.default_rng([firm.scenario.seed, 15])
    reports = reports_per_hazard(firm)
    rows = []
    for crew, step in sorted({(int(crew), int(step)) for crew, step, _ in firm.crews.trained}):
        name = firm.catalogue.steps[step]
        doors, linked = _doors_after(firm, crew, step), _linked_faults(firm, name)
        if not len(doors.crew):
            continue
        out, calls = np.zeros(2), np.zeros(2)
        for _ in range(DRAWS):
            for place, crews in enumerate((firm.crews, _untrained(firm.crews, crew, step))):
                other = drawn_anew(firm, doors, crews, rng)
                out[place] += is_out_in(other, name).sum()
                calls[place] += expected_callbacks(other, firm, reports, linked).sum()
        for outcome, (trained, untrained) in (("out_share", out), ("callbacks", calls)):
            if untrained > 0:
                rows.append((firm.crews.names[crew], name, outcome, float(trained / untrained)))
    return pl.DataFrame(rows, schema=["crew", "step", "outcome", "true_ratio"], orient="row")


def _doors_after(firm: Firm, crew: int, step: int) -> Doors:
    first = min(day for trained, what, day in firm.crews.trained if trained == crew and what == step)
    return some_doors(firm.doors, np.flatnonzero((firm.doors.crew == crew) & (firm.doors.fitted_day > first)))


def some_doors(doors: Doors, rows: Ints) -> Doors:
    """Some of the doors, by row number."""
    return Doors(
        installs=doors.installs[rows],
        crew=doors.crew[rows],
        site=doors.site[rows],
        fitted_day=doors.fitted_day[rows],
        started_day=doors.started_day[rows],
        removed_day=doors.removed_day[rows],
        traits={name: values[rows] for name, values in doors.traits.items()},
    )


def _untrained(crews: Crews, crew: int, step: int) -> Crews:
    is_other = (crews.trained[:, 0] != crew) | (crews.trained[:, 1] != step)
    return replace(crews, trained=crews.trained[is_other])


def _linked_faults(firm: Firm, step: str) -> list[str]:
    """Faults that the trade expects of the step's deviations, and that the simulator knows."""
    linked = {pair.fault for pair in firm.catalogue.pairs if firm.catalogue.deviation(pair.deviation).step == step}
    return [fault for fault in FAULTS if fault in linked]

"""Fits pairs again that were found, on a study or faults seen otherwise, for the contrast that was reported."""

from dataclasses import dataclass

import numpy as np

from pipeline.model.evidence import LEAST_EVENTS, DesignRoom, too_few
from pipeline.model.pair_design import PairDesign, adjuster_columns, pair_design
from pipeline.model.pair_fit import PairEstimate, fault_base, fit_pair
from pipeline.model.risk import FirstFaults
from pipeline.model.study import Study

Z95 = 1.959964
Pair = tuple[str, str]  # fault and deviation


@dataclass(frozen=True)
class Refit:
    """One pair fitted: its design and estimate, and the first callbacks among its doors."""

    design: PairDesign
    estimate: PairEstimate
    events: int

    def ratio(self, better: float, worse: float) -> tuple[float, float, float]:
        """Ratio and the ends of its 95 % interval, from the value `better` to the value `worse`."""
        contrast = worse - better
        turned = self.estimate.log_ratio / self.design.spread * contrast
        width = Z95 * self.estimate.error / self.design.spread * abs(contrast)
        low, middle, high = np.exp([turned - width, turned, turned + width])
        return float(middle), float(low), float(high)


def refitted(study: Study, faults: dict[str, FirstFaults], pairs: set[Pair]) -> dict[Pair, Refit]:
    """The pairs that can be fitted; those left out that would be too few among effects."""
    adjusters = adjuster_columns(study.firm)
    asked = sorted(pairs)
    enough = [name for name in {fault for fault, _ in asked} if faults[name].n_events >= LEAST_EVENTS]
    groups, covariates = study.firm.groups, study.firm.covariates
    bases = {name: fault_base(faults[name], groups, covariates, adjusters) for name in enough}
    designs = {name: pair_design(study.firm, study.firm.places[name], adjusters) for _, name in asked}
    time = study.watched.leave - study.watched.entry
    rooms = {name: DesignRoom(design, time[design.rows]) for name, design in designs.items() if design}
    found = {}
    for fault, deviation in asked:
        design, base = designs[deviation], bases.get(fault)
        if design is None or base is None:
            continue
        events = int(faults[fault].events[design.rows].sum())
        if not too_few(rooms[deviation], events, len(design.rows) / len(study.firm.values)):
            found[fault, deviation] = Refit(design, fit_pair(design, base), events)
    return found

"""Fits pairs again that were found, on a study or faults seen otherwise, for the contrast that was reported."""

from dataclasses import dataclass

from pipeline.model.bases import Bases, fitted_bases
from pipeline.model.evidence import DesignRoom, too_few
from pipeline.model.pair_design import PairDesign, adjuster_columns, pair_design
from pipeline.model.pair_fit import PairEstimate, fit_pair
from pipeline.model.risk import FirstFaults
from pipeline.model.study import Study
from pipeline.stats.intervals import ratio_interval

Pair = tuple[str, str]  # fault and deviation


@dataclass(frozen=True)
class Refit:
    """One pair fitted: its design and estimate."""

    design: PairDesign
    estimate: PairEstimate

    def ratio(self, better: float, worse: float) -> tuple[float, float, float]:
        """Ratio and the ends of its 95 % interval, from the value `better` to the value `worse`."""
        return ratio_interval(self.estimate.log_ratio, self.estimate.error, (worse - better) / self.design.spread)


def refitted(
    study: Study, faults: dict[str, FirstFaults], pairs: set[Pair], bases: Bases | None = None
) -> dict[Pair, Refit]:
    """The pairs that can be fitted; those left out that would be too few among effects.

    bases  of these faults on this study, where they are known
    """
    adjusters, asked = adjuster_columns(study.firm), sorted(pairs)
    if bases is None:
        bases = fitted_bases(study, {name: faults[name] for name in sorted({fault for fault, _ in asked})})
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
            found[fault, deviation] = Refit(design, fit_pair(design, base))
    return found

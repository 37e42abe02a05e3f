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
    """One pair fitted: its design, without the columns, and estimate."""

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
    if bases is None:
        bases = fitted_bases(study, {name: faults[name] for name in sorted({fault for fault, _ in pairs})})
    adjusters = adjuster_columns(study.firm)
    found: dict[Pair, Refit] = {}
    for deviation in sorted({deviation for _, deviation in pairs}):
        design = pair_design(study.firm, study.firm.places[deviation], adjusters)
        if design is not None:
            of_deviation = {name: faults[name] for name, other in sorted(pairs) if other == deviation}
            found |= _of_design(study, design, of_deviation, bases)
    return found


def _of_design(study: Study, design: PairDesign, faults: dict[str, FirstFaults], bases: Bases) -> dict[Pair, Refit]:
    time = study.watched.leave - study.watched.entry
    room = DesignRoom(design, time[design.rows])
    found = {}
    for name, first in faults.items():
        base, events = bases.get(name), int(first.events[design.rows].sum())
        if base is not None and not too_few(room, events, len(design.rows) / len(study.firm.values)):
            found[name, design.place.name] = Refit(design.without_columns(), fit_pair(design, base))
    return found

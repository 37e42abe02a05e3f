"""The ratio of two rates within strata, by Mantel and Haenszel, with an interval that allows for clumps of events."""

import numpy as np
from numpy.typing import ArrayLike

from pipeline.stats.intervals import ratio_interval


def stratified_ratio(
    events: ArrayLike, exposure: ArrayLike, dispersion: float = 1.0
) -> tuple[float, float, float] | None:
    """The ratio of the second group's rate to the first's, with its 95 % interval; None where a group has no event.

    events, exposure  (2, S) counts, and time at risk of 0 or more, of both groups in each stratum
    dispersion        variance of a count over its mean, 1 or more
    Sources: Rothman and Boice (1979), Epidemiologic Analysis with a Programmable Calculator; the variance of the log
    ratio by Greenland and Robins (1985), Biometrics 41, 55-68.
    """
    before, after = np.asarray(events, dtype=float)
    time_before, time_after = np.asarray(exposure, dtype=float)
    whole = time_before + time_after
    both = whole > 0
    share_before, share_after = (time[both] / whole[both] for time in (time_before, time_after))
    up, down = float(after[both] @ share_before), float(before[both] @ share_after)
    if not up or not down:
        return None
    variance = float((after + before)[both] @ (share_before * share_after)) / (up * down)
    return ratio_interval(float(np.log(up / down)), float(np.sqrt(dispersion * variance)))


def null_error(events: ArrayLike, exposure: ArrayLike, dispersion: float = 1.0) -> float:
    """Standard error of the log ratio were there no difference: it hangs on how many events came, not on whose.

    events, exposure, dispersion  as above; infinite where no event can be compared
    """
    came, time = np.asarray(events, dtype=float).sum(axis=0), np.asarray(exposure, dtype=float)
    whole = time.sum(axis=0)
    share = np.divide(time[0], whole, out=np.zeros_like(whole), where=whole > 0)
    compared = float(came @ (share * (1 - share)))
    return float(np.sqrt(dispersion / compared)) if compared > 0 else float("inf")

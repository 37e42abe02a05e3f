"""How strong something unrecorded would have to be to explain a ratio away: the E-value.

Source: VanderWeele and Ding (2017), Ann. Intern. Med. 167, 268-274; for ratios of hazards where the event is common,
their transformation to an approximate risk ratio.
"""

import numpy as np

COMMON = 0.15  # from this share of doors with the event on, a ratio of hazards is no longer close to one of risks


def e_value(ratio: float, share_with_event: float = 0.0, true_ratio: float = 1.0) -> float:
    """The least ratio with both the exposure and the event that a confounder needs to move `ratio` to `true_ratio`.

    ratio             of hazards, over 0, in either direction
    share_with_event  of the units watched, 0 to 1
    Returns 1 where nothing is to be explained. Raises ValueError for ratios that are not over 0.
    """
    if not (ratio > 0 and true_ratio > 0):
        raise ValueError("ratios must be over 0")
    found = _as_risk_ratio(ratio, share_with_event) / true_ratio
    apart = max(found, 1 / found)
    return float(apart + np.sqrt(apart * (apart - 1)))


def e_value_of_interval(low: float, high: float, share_with_event: float = 0.0) -> float:
    """The E-value of the interval's end that is nearer to 1; 1 where the interval holds 1."""
    if low <= 1 <= high:
        return 1.0
    return e_value(low if low > 1 else high, share_with_event)


def _as_risk_ratio(ratio: float, share_with_event: float) -> float:
    if share_with_event < COMMON:
        return ratio
    return float((1 - 0.5 ** np.sqrt(ratio)) / (1 - 0.5 ** np.sqrt(1 / ratio)))

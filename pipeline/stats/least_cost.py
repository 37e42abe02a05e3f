"""The limit that costs least: putting right what lies beyond it against the events that this spares."""

from dataclasses import dataclass

import numpy as np

from pipeline.stats.intervals import Floats


@dataclass(frozen=True)
class Stakes:
    """What one kind of event has at stake along a grid that runs from the better to the worse end.

    log_ratios (R, V) curves: the estimate in row 0, draws below; events (V,) expected as things are; cost of one event
    """

    log_ratios: Floats
    events: Floats
    cost: float


def costs_of_limits(things: Floats, put_right: float, stakes: list[Stakes]) -> Floats:
    """(R, V) cost with the limit at each grid value, against no limit: rework less the events spared.

    things     (V,) how many lie at each grid value; all beyond the limit are put right, each to the limit itself
    put_right  cost of putting one right
    """
    beyond = np.cumsum(things[::-1])[::-1] - things
    total = np.broadcast_to(put_right * beyond, stakes[0].log_ratios.shape).copy()
    for part in stakes:
        rate = part.events * np.exp(-part.log_ratios)  # events at each grid value for a ratio of 1
        rate_beyond = np.cumsum(rate[:, ::-1], axis=1)[:, ::-1] - rate
        events_beyond = np.cumsum(part.events[::-1])[::-1] - part.events
        total += part.cost * (rate_beyond * np.exp(part.log_ratios) - events_beyond)
    return total


def cheapest(costs: Floats) -> np.ndarray:
    """(R,) number of the cheapest grid value of each row; of equal ones the last: no rework without a gain."""
    last = costs.shape[1] - 1
    return np.asarray(last - np.argmin(costs[:, ::-1], axis=1))

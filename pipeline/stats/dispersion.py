"""How much more counts vary than chance makes them."""

from pipeline.stats.intervals import Floats


def dispersion_of(events: Floats, mean: Floats, parameters: int) -> float:
    """Variance of counts (n,) over their means (n,), given so many parameters; below 1 for what happens once only.

    Squares are pooled rather than divided one by one: of what expects a few hundredths of an event, a square divided by
    so little would be noise.
    """
    degrees = max(len(events) - parameters, 1)
    return float(((events - mean) ** 2).sum()) / max(float(mean.sum()), 1e-9) * len(events) / degrees

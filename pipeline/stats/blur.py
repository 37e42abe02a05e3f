"""What measurement error takes from a slope, given back: regression calibration.

Source: Carroll, Ruppert, Stefanski and Crainiceanu (2006), Measurement Error in Nonlinear Models, chapter 4.
"""

import numpy as np


def reliability(error_variance: float, residual_variance: float) -> float:
    """Share of the residual variance that is no error, 0 to 1; both variances in the same unit, residual above 0."""
    return float(np.clip(1 - error_variance / residual_variance, 0.0, 1.0))


def calibrated(slope: float, error: float, share: float, n: int) -> tuple[float, float]:
    """Slope and standard error without the blur.

    share  reliability, above 0, from n independent rows; the error of the residual variance (2 / n, relative) joins in
    """
    of_share = (1 - share) * np.sqrt(2 / n)
    return slope / share, float(np.hypot(error / share, slope * of_share / share**2))

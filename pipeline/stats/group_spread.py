"""How much groups differ: the standard deviation of pooled intercepts, by marginal likelihood."""

import numpy as np
from scipy import optimize

from pipeline.stats.hazards import HazardData, HazardFit, Prior, fit_hazard

LOWEST, HIGHEST = 0.03, 2.0


def fit_with_group_spread(data: HazardData, precision: np.ndarray) -> tuple[HazardFit, float]:
    """The model with pooled group intercepts and the standard deviation that the data support best.

    precision  (p,) prior precisions of the coefficients
    Returns the fit and the sd, between 0.03 and 2 on the log scale; with fewer than three groups the sd is 1, a weak
    prior, since two groups cannot show how groups differ.
    The Laplace marginal likelihood is maximised with a gamma(2) boundary-avoiding prior on the sd.
    Sources: Breslow and Clayton (1993), J. Am. Stat. Assoc. 88, 9-25; Chung et al. (2013), Psychometrika 78, 685-709.
    """
    if data.n_groups < 3:
        return fit_hazard(data, Prior(precision, 1.0)), 1.0
    best: dict[str, HazardFit | None] = {"fit": None}

    def loss(log_sd: float) -> float:
        prior = Prior(precision, float(np.exp(-2 * log_sd)))
        fit = fit_hazard(data, prior, start=best["fit"])
        best["fit"] = fit
        return -marginal_log_likelihood(fit, precision, float(np.exp(log_sd))) - log_sd

    found = optimize.minimize_scalar(
        loss, bounds=(np.log(LOWEST), np.log(HIGHEST)), method="bounded", options={"xatol": 0.05}
    )
    sd = float(np.exp(found.x))
    return fit_hazard(data, Prior(precision, sd**-2), start=best["fit"]), sd


def marginal_log_likelihood(fit: HazardFit, precision: np.ndarray, sd: float) -> float:
    """Laplace approximation of the log likelihood with group effects and coefficients integrated out."""
    penalised = fit.log_likelihood - 0.5 * float(precision @ fit.beta**2)
    penalised -= 0.5 * float(fit.group_effects @ fit.group_effects) / sd**2
    log_determinant = float(np.log(fit.group_curvature).sum()) - float(np.linalg.slogdet(fit.covariance)[1])
    return penalised - len(fit.group_effects) * np.log(sd) - 0.5 * log_determinant

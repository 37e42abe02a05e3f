"""Published concordance of a Cox model."""

import numpy as np
import pytest
from lifelines.datasets import load_lung

from pipeline.stats.concordance import Followed, concordance


def test_lung_cancer_concordance_and_its_error():
    # R package survival, data lung: coxph(Surv(time, status) ~ age + sex + ph.ecog) prints these coefficients, 227
    # patients, 164 events, and "Concordance= 0.637  (se = 0.025 )". Print read in several public worked examples.
    lung = load_lung().dropna(subset=["age", "sex", "ph.ecog"])
    events = lung["status"].to_numpy(float) - lung["status"].min()
    assert (len(lung), events.sum()) == (227, 164)
    score = 0.011067 * lung["age"] - 0.552612 * lung["sex"] + 0.463728 * lung["ph.ecog"]
    n = len(lung)
    kind = Followed(
        score.to_numpy(float)[:, None], np.zeros(n), lung["time"].to_numpy(float), events, np.ones(n), np.arange(n),
        np.arange(n),
    )  # fmt: skip
    found = concordance([kind], is_weighed=False)
    assert round(float(found.estimate[0]), 3) == 0.637
    assert found.error([1]) == pytest.approx(0.025, abs=0.0008)

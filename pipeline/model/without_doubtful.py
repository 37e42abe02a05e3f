"""The same firm without the readings of crews whose records are in doubt, to see whether what was found rests on them.

What was ticked off stays: the tests of credibility are of readings.
"""

from dataclasses import replace

import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.model.evidence import SHOWN
from pipeline.model.study import Study

RESTS_ON_DOUBTFUL = "rests on records in doubt: without them too few are left to tell"
TURNS_WITHOUT_DOUBTFUL = "the direction turns without records in doubt"


def doubted_doors(study: Study, installs: pl.DataFrame, record_credibility: pl.DataFrame) -> NDArray[np.bool_]:
    """(n,) the watched doors of crews with any doubtful finding that have readings."""
    crews = record_credibility.filter(pl.col("verdict") == "doubtful")["crew"].unique()
    doors = pl.DataFrame({"install_id": study.watched.install_ids})
    crew = doors.join(installs, on="install_id", how="left", maintain_order="left")["crew"]
    is_doubted = crew.is_in(crews.implode()).fill_null(False).to_numpy()
    has_readings = np.isfinite(study.firm.values[:, _read_columns(study)]).any(axis=1)
    return np.asarray(is_doubted & has_readings)


def without_readings(study: Study, doors: NDArray[np.bool_]) -> Study:
    """The study as if nothing had been read on these doors."""
    values = study.firm.values.copy()
    values[np.ix_(np.flatnonzero(doors), _read_columns(study))] = np.nan
    return replace(study, firm=replace(study.firm, values=values))


def held_to(word: str, note: str, is_worse: bool, ratio: float | None) -> tuple[str, str]:
    """Evidence and note once the doubtful records are left out. ratio: of the contrast without them; None: too few.

    Strong evidence must keep its direction without them.
    """
    if ratio is None:
        return ("suggestive", RESTS_ON_DOUBTFUL) if word == "strong" else (word, note)
    if (ratio >= 1) == is_worse or word not in SHOWN:
        return word, note
    return "suggestive", note or TURNS_WITHOUT_DOUBTFUL


def _read_columns(study: Study) -> NDArray[np.int64]:
    return np.array([place.ordinal for place in study.firm.places.values() if not place.is_check], dtype=np.int64)

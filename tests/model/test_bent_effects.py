"""Effects that are no straight line: only a curve that surely bends is followed, and it counts what it shows."""

import numpy as np
import polars as pl
import pytest

from pipeline.catalogue import catalogue_tables, load_catalogue
from pipeline.model.adjusters import places
from pipeline.model.bent_effects import Bend, bends

PLACES = places(catalogue_tables(load_catalogue())["catalogue_deviations"])


def fit(deviation, bend, error, crew_error=0.0):
    """A curve of one bend with its standard error: 0 up to 2 mm, then rising."""
    own, crews = (np.diag([0.1, size]) ** 2 for size in (error, crew_error))
    return {
        "fault": "stiff_running", "deviation": deviation, "reference": 1.0, "grid": [0.0, 1.0, 2.0, 3.0, 4.0],
        "log_ratios": [-0.1, 0.0, 0.0, 0.5, 2.0], "coefficients": [0.4, bend], "covariance": own.ravel().tolist(),
        "crew_covariance": crews.ravel().tolist() if crew_error else [],
    }  # fmt: skip


def found(*rows):
    return bends(pl.DataFrame(list(rows)), PLACES)


def test_only_a_curve_that_surely_bends_is_followed() -> None:
    assert found(fit("sill_level_error", 0.2, 0.1)) == {}  # two standard errors: p is 0.046
    ((key, (good, bend)),) = found(fit("sill_level_error", 0.3, 0.1)).items()  # three: 0.0027
    assert key == ("stiff_running", "sill_level_error")
    assert good == 1.0
    assert bend.excess.tolist() == [0.0, 1.0, 2.0, 3.0]
    assert bend.log_ratios.tolist() == [0.0, 0.0, 0.5, 2.0]


def test_differences_between_crews_count_against_a_bend() -> None:
    assert found(fit("sill_level_error", 0.3, 0.1, 0.2)) == {}


def test_a_straight_line_is_none() -> None:
    assert found(fit("sill_level_error", 0.3, 0.1) | {"coefficients": [0.4], "covariance": [0.01]}) == {}


def test_where_less_is_worse_the_curve_runs_downwards() -> None:
    (bend,) = found(fit("seal_compression_low", 0.3, 0.1)).values()
    assert bend[1].excess.tolist() == [0.0, 1.0]
    assert bend[1].log_ratios.tolist() == [0.0, 0.0]  # a curve that falls where it should rise counts nothing


def test_an_excess_counts_what_the_curve_shows_and_beyond_its_end_no_more() -> None:
    bend = Bend(np.array([0.0, 1.0, 2.0]), np.array([0.0, 0.0, 0.8]))
    excess = np.array([0.0, 0.5, 1.5, 2.0, 4.0])
    assert 0.5 * excess * bend.per_unit(excess, 0.5) == pytest.approx([0.0, 0.0, 0.4, 0.8, 0.8])

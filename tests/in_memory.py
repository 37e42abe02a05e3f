"""The tables that the models of charts and training read, made of a simulated firm without writing a file.

Values are the true ones, faults and doors are those of the truth: what is left is the method itself.
"""

from datetime import timedelta

import numpy as np
import polars as pl

from pipeline.catalogue.tables import catalogue_tables
from pipeline.demo.simulate import Firm

REPEAT_DAYS = 28


def tables_of_truth(firm: Firm) -> dict[str, pl.DataFrame]:
    """staged_installs, door_values, door_time, episodes, callback_months, and the catalogue's tables."""
    tables = catalogue_tables(firm.catalogue)
    installs = firm.records["installs"].with_columns(started_on=pl.coalesce("handed_over_on", "fitted_on"))
    time = _door_time(installs, firm)
    return tables | {
        "staged_installs": installs,
        "door_values": _door_values(installs, firm, tables["catalogue_deviations"]),
        "door_time": time,
        "episodes": _episodes(time, firm),
        "callback_months": _months(time, firm),
    }


def _door_values(installs: pl.DataFrame, firm: Firm, catalogue: pl.DataFrame) -> pl.DataFrame:
    known = [(ordinal, name) for name, ordinal in catalogue.select("name", "ordinal").iter_rows() if name in firm.true]
    matrix = np.column_stack([firm.true[name] for _, name in sorted(known)])
    ordinals = [[float(ordinal) for ordinal, _ in sorted(known)]] * installs.height
    return pl.DataFrame({"install_id": installs["install_id"], "ordinals": ordinals, "amounts": matrix.tolist()})


def _door_time(installs: pl.DataFrame, firm: Firm) -> pl.DataFrame:
    last = pl.lit(firm.scenario.ends_on)
    ends = pl.min_horizontal(last, pl.coalesce("removed_on", last))
    days = (pl.col("until_on") - pl.col("started_on")).dt.total_days().cast(pl.Float64)
    return (
        installs.select("install_id", "crew", "started_on", from_on="started_on", until_on=ends)
        .with_columns(entry_days=pl.lit(0.0), exit_days=pl.max_horizontal(days, pl.lit(0.0)))
        .with_columns(door_years=pl.col("exit_days") / 365.25)
    )


def _episodes(time: pl.DataFrame, firm: Firm) -> pl.DataFrame:
    calls = firm.records["callbacks"].join(time, on="install_id").sort("install_id", "fault", "reported_on")
    gap = (pl.col("reported_on") - pl.col("reported_on").shift().over("install_id", "fault")).dt.total_days()
    age = (pl.col("reported_on") - pl.col("started_on")).dt.total_days().cast(pl.Float64)
    kind = (
        pl.when(age < 0)
        .then(pl.lit("pre_handover"))
        .when(gap <= REPEAT_DAYS)
        .then(pl.lit("repeat"))
        .otherwise(pl.lit("episode"))
    )
    answers = pl.col("responsibility").fill_null("unknown").is_in(["installation", "unknown"])
    return calls.select(
        *("callback_id", "install_id", "crew", "fault", "reported_on"),
        age_days=pl.when(age == 0).then(0.5).otherwise(age),
        kind=kind,
        is_answered_for=answers & (pl.col("fault") != "no_fault"),
    )


def _months(time: pl.DataFrame, firm: Firm) -> pl.DataFrame:
    last = firm.scenario.ends_on
    first = time["from_on"].min().replace(day=1)  # type: ignore[union-attr]
    months = pl.date_range(first, last, "1mo", eager=True)
    is_complete = months.dt.offset_by("1mo") <= last + timedelta(days=1)
    return pl.DataFrame({"month": months.dt.strftime("%Y-%m"), "is_complete": is_complete})

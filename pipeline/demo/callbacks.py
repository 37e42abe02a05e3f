"""The record `callbacks`: what fitting caused, what product, use and nothing caused, repeats, dates, hours, cost."""

import numpy as np
import polars as pl

from pipeline.demo.arrays import Floats, Ints, words_at
from pipeline.demo.doors import Doors
from pipeline.demo.hazards import Events, draw_events
from pipeline.demo.scenario import Scenario
from pipeline.demo.world import FAULTS, FaultWorld

LABOUR_RATE = 38.0
STEADY = FaultWorld(1.0, (1.0, 1.0, 1.0, 1.0, 1.0))
EARLY = FaultWorld(1.0, (5.0, 2.5, 1.0, 0.6, 0.5), hours=0.5, parts=0.0)
# What else comes back: responsibility, its faults with their shares, and its pace.
OTHERS = (
    ("none", {"no_fault": 1.0}, EARLY),
    ("product", {"failed_unit": 0.4, "seal_fault": 0.25, "lock_failed": 0.2, "handle_fault": 0.15}, STEADY),
    ("use", {"user_damage": 0.5, "dirty_track": 0.3, "broken_glass": 0.2}, STEADY),
)
CALLBACK_COLUMNS = [
    "callback_id", "install_id", "job_no", "customer", "address", "postcode", "reported_on", "logged_on", "visited_on",
    "fault", "note", "responsibility", "hours", "cost",
]  # fmt: skip
_RAW = pl.Schema({"door": pl.Int64, "day": pl.Int64, "fault": pl.String, "responsibility": pl.String})


def callbacks_record(
    doors: Doors, events: dict[str, Events], scenario: Scenario, rng: np.random.Generator
) -> pl.DataFrame:
    """The record `callbacks`, in order of the day reported."""
    rows = [_rows(found, fault, "installation") for fault, found in events.items()]
    rows += [_repeats(found, fault, scenario, rng) for fault, found in events.items()]
    rows += [table for other in OTHERS for table in _others(other, doors, scenario, rng)]
    rows.append(_before_handover(doors, scenario, rng))
    table = pl.concat(rows).sort("day", "door", "fault")
    return _finished(_with_blanks(table, scenario, rng), doors, scenario, rng)


def _rows(events: Events, fault: str, responsibility: str) -> pl.DataFrame:
    words = {"fault": fault, "responsibility": responsibility}
    return pl.DataFrame({"door": events.door, "day": events.day}).with_columns(
        **{name: pl.lit(word, dtype=pl.String) for name, word in words.items()}
    ).cast(_RAW)  # fmt: skip


def _repeats(events: Events, fault: str, scenario: Scenario, rng: np.random.Generator) -> pl.DataFrame:
    again = rng.random(len(events.door)) < FAULTS[fault].repeats * scenario.repeat_scale
    day = events.day[again] + rng.integers(2, 22, int(again.sum()))
    is_seen = day <= scenario.days
    return _rows(Events(events.door[again][is_seen], day[is_seen]), fault, "installation")


def _others(
    other: tuple[str, dict[str, float], FaultWorld], doors: Doors, scenario: Scenario, rng: np.random.Generator
) -> list[pl.DataFrame]:
    responsibility, faults, pace = other
    shares = {"none": scenario.no_fault_share, "product": scenario.product_share, "use": scenario.use_share}
    expected = shares[responsibility] * scenario.callbacks_per_door * scenario.doors
    even = np.ones(len(doors.crew))
    return [
        _rows(draw_events(even, expected * share, pace, doors, scenario, rng), fault, responsibility)
        for fault, share in faults.items()
    ]


def _before_handover(doors: Doors, scenario: Scenario, rng: np.random.Generator) -> pl.DataFrame:
    waits = np.flatnonzero(doors.started_day > doors.fitted_day + 1)
    rows = round(scenario.pre_handover_share * scenario.callbacks_per_door * scenario.doors)
    door = rng.choice(waits, min(rows, len(waits)), replace=False) if len(waits) else waits
    return _rows(Events(door, doors.fitted_day[door] + 1), "incomplete_work", "installation")


def _with_blanks(table: pl.DataFrame, scenario: Scenario, rng: np.random.Generator) -> pl.DataFrame:
    blank = pl.Series(rng.random(table.height) < scenario.blank_responsibility)
    unknown = pl.Series(rng.random(table.height) < 0.5)
    is_fitting = pl.col("responsibility") == "installation"
    word = pl.when(pl.lit(unknown)).then(pl.lit("unknown")).otherwise(None)
    return table.with_columns(
        pl.when(is_fitting & pl.lit(blank)).then(word).otherwise("responsibility").alias("responsibility")
    )


def _finished(table: pl.DataFrame, doors: Doors, scenario: Scenario, rng: np.random.Generator) -> pl.DataFrame:
    door, day = table["door"].to_numpy(), table["day"].to_numpy()
    logged = day + rng.geometric(1 / scenario.paper_days, len(day)) - 1
    visited = day + rng.integers(1, 12, len(day))
    if not scenario.late_paper:
        logged = np.minimum(logged, np.maximum(day, scenario.days))
    hours, cost = _labour(table, rng)
    finished = pl.DataFrame(
        {
            "callback_id": [f"C{i + 1:06d}" for i in range(len(day))],
            **{name: doors.installs[name].gather(door) for name in WHERE},
            "reported_on": _as_dates(day, scenario),
            "logged_on": _as_dates(logged, scenario),
            "visited_on": _as_dates(visited, scenario),
            "fault": table["fault"],
            "note": words_at([None], np.full(len(day), -1)),
            "responsibility": table["responsibility"],
            "hours": hours,
            "cost": cost,
        }
    ).select(CALLBACK_COLUMNS)
    last = pl.lit(scenario.ends_on)
    visits = pl.when(pl.col("visited_on") <= last).then("visited_on").alias("visited_on")
    return finished.filter(pl.col("logged_on") <= last).with_columns(visits)


WHERE = ("install_id", "job_no", "customer", "address", "postcode")


def _as_dates(day: Ints, scenario: Scenario) -> pl.Series:
    start = pl.Series([scenario.starts_on]).to_physical()[0]
    return pl.Series((day + start).astype(np.int32)).cast(pl.Date)


def _labour(table: pl.DataFrame, rng: np.random.Generator) -> tuple[Floats, Floats]:
    worlds = {**dict.fromkeys(("no_fault",), EARLY), **FAULTS}
    hours = table["fault"].replace_strict({k: w.hours for k, w in worlds.items()}, default=1.5, return_dtype=pl.Float64)
    parts = table["fault"].replace_strict(
        {k: w.parts for k, w in worlds.items()}, default=60.0, return_dtype=pl.Float64
    )
    spent = np.round(hours.to_numpy() * rng.gamma(4.0, 0.25, table.height) / 0.25 + 1) * 0.25
    used = parts.to_numpy() * rng.gamma(2.0, 0.5, table.height)
    return spent, np.round(spent * LABOUR_RATE + used, 2)

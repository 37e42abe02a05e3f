"""outlook: callbacks and their cost in each of the twelve months after the records were drawn, and in all of them.

Counts callback rows by month reported, whoever answers for them: from the doors that are out, and from as many doors to
come as planned_doors_per_month says (none where it says nothing). Months are whole calendar months, beginning with the
one after the records' last day. A steady rise or fall goes on. Intervals hold what is not sure of the rates and of that
trend, that doors call in clumps, that months differ, and that the level drifts.

grain: one row per month ahead, and one row `total`; no row where no door is out
key: month
columns:
  month              text     YYYY-MM, or total
  callbacks          double   callbacks expected; the months add up to the total. Empty: too few to tell
  callbacks_low      double   lower end of the 95 % interval; the total's comes from joint draws, not from the months'
  callbacks_high     double   upper end
  cost               double   their cost in the firm's currency, at what callbacks have cost so far; empty: none known
  cost_low           double   lower end of its 95 % interval
  cost_high          double   upper end
  from_doors_out     double   of callbacks, those of doors already out
  from_planned       double   of callbacks, those of doors to come
  basis              text     draws, or too_few: fewer than 20 callbacks on known doors, or than 6 months of log
  cost_known         integer  callbacks whose cost is known, which the cost stands on

Source of the method: pipeline/stats/age_and_month.py, right_truncation.py.
"""

import polars as pl

from pipeline.model.ahead import Ahead, look_ahead
from pipeline.model.standing import Standing, planned_doors, standing_on

SCHEMA = {
    "month": pl.String, "callbacks": pl.Float64, "callbacks_low": pl.Float64, "callbacks_high": pl.Float64,
    "cost": pl.Float64, "cost_low": pl.Float64, "cost_high": pl.Float64, "from_doors_out": pl.Float64,
    "from_planned": pl.Float64, "basis": pl.String, "cost_known": pl.Int64,
}  # fmt: skip


def build(callback_days: pl.DataFrame, door_spans: pl.DataFrame, settings: pl.DataFrame) -> pl.DataFrame:
    """Thirteen rows."""
    as_of = settings["as_of"][0]
    standing = standing_on(as_of, callback_days, (door_spans, planned_doors(as_of, settings)), settings)
    if standing is None:
        return pl.DataFrame(schema=SCHEMA)
    ahead = look_ahead(standing, settings["seed"][0]) if standing.is_enough else None
    return pl.DataFrame(_columns(standing, ahead), schema=SCHEMA)


def _columns(standing: Standing, ahead: Ahead | None) -> dict[str, object]:
    rows = {
        "month": [*standing.grid.names()[standing.grid.n_past :], "total"],
        "basis": ["too_few" if ahead is None else "draws"] * 13,
        "cost_known": [len(standing.known_costs)] * 13,
    }
    if ahead is None:
        return {name: rows.get(name, [None] * 13) for name in SCHEMA}
    counts = {
        "callbacks": ahead.callbacks, "callbacks_low": ahead.bounds[:, 0], "callbacks_high": ahead.bounds[:, 1],
        "from_doors_out": ahead.from_out, "from_planned": ahead.from_to_come,
    }  # fmt: skip
    if ahead.cost is not None and ahead.cost_bounds is not None:
        counts |= {"cost": ahead.cost, "cost_low": ahead.cost_bounds[:, 0], "cost_high": ahead.cost_bounds[:, 1]}
    return {name: rows.get(name, counts.get(name, [None] * 13)) for name in SCHEMA}

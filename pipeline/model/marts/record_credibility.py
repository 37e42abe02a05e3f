"""record_credibility: whether each crew's readings look measured, test by test.

A finding is about the record. It is a question to ask, never a proof against a person.
grain: one row per crew and test
key: crew, test
columns:
  crew       text     part of the key
  test       text     part of the key: last_digits, copied_doors, flat_boxes, little_spread, tape_misclosure,
                      impossible_days, missing_where_called or inside_limits
  statistic  double   size of what was found: share of last digits displaced beyond chance; share of doors that repeat
                      one of the five before, beyond chance; share of members with one value in all boxes, beyond other
                      crews, of all measures or of the one that stands out; spread over other crews'; share of doors
                      whose six lengths do not close; share of doors read on an impossible day; share of measures
                      lacking more on doors with a callback; of doors near or beyond a limit the share just inside it,
                      beyond other crews
  p_value    double   chance of as much in an honest record; empty where it could not be tested
  q_value    double   the same over all crews and tests (Benjamini-Hochberg)
  doors      integer  the crew's doors behind it, of its latest 500
  verdict    text     plausible, rounded, doubtful or too_few

Doubtful needs q <= 0.05 and a size that matters. Rounding to a coarser step is rounded: it widens uncertainty only.
"""

import numpy as np
import polars as pl

from pipeline.model.record_tests import (
    FEWEST_DIGITS,
    Chance,
    Tested,
    copied_doors,
    last_digits,
    missing_where_called,
)
from pipeline.model.records_at_limits import inside_limits
from pipeline.model.records_compared import flat_boxes, impossible_days, little_spread, tape_blunders
from pipeline.stats.multiplicity import q_values

SCHEMA = {
    "crew": pl.String, "test": pl.String, "statistic": pl.Float64, "p_value": pl.Float64, "q_value": pl.Float64,
    "doors": pl.Int64, "verdict": pl.String,
}  # fmt: skip
TESTS = (
    "last_digits", "copied_doors", "flat_boxes", "little_spread", "tape_misclosure", "impossible_days",
    "missing_where_called", "inside_limits",
)  # fmt: skip
Q_DOUBTFUL = 0.05
# The smallest p-value that can be drawn must still be able to reach Q_DOUBTFUL among all the others.
DRAWS_PER_TEST = 40
SEED = 20_261
ROUNDED_FROM = 0.5
MOST = 0.5


def build(
    credibility_doors: pl.DataFrame,
    written_steps: pl.DataFrame,
    reading_blocks: pl.DataFrame,
    recording_steps: pl.DataFrame,
    limit_shapes: pl.DataFrame,
) -> pl.DataFrame:
    """One row per crew and test."""
    coarse = _coarse(recording_steps)
    crews = credibility_doors["crew"].unique().sort().to_list()
    found = _alone(crews, credibility_doors, written_steps, reading_blocks) | {
        (crew, test): tested
        for test, by_crew in (
            ("flat_boxes", flat_boxes(reading_blocks)),
            ("little_spread", little_spread(reading_blocks)),
            ("tape_misclosure", tape_blunders(credibility_doors, recording_steps)),
            ("impossible_days", impossible_days(credibility_doors)),
            # a coarse step sets values on a limit by itself
            ("inside_limits", inside_limits(limit_shapes.filter(~pl.col("crew").is_in(coarse)))),
        )
        for crew, tested in by_crew.items()
    }
    rows = [(crew, test, found.get((crew, test), Tested(None, None, 0))) for crew in crews for test in TESTS]
    return _judged(rows, coarse)


def _alone(
    crews: list[str], doors: pl.DataFrame, written: pl.DataFrame, blocks: pl.DataFrame
) -> dict[tuple[str, str], Tested]:
    found = {}
    doors_of, written_of, blocks_of = (_by_crew(table) for table in (doors, written, blocks))
    for number, crew in enumerate(crews):
        chance = Chance(np.random.default_rng([SEED, number]), DRAWS_PER_TEST * len(crews) * len(TESTS))
        own = doors_of[crew]
        # place 1 is the latest door: from the oldest on
        places = {door: -place for door, place in own.select("install_id", "place").iter_rows()}
        found[crew, "last_digits"] = last_digits(written_of.get(crew, written.clear()), chance)
        found[crew, "copied_doors"] = copied_doors(blocks_of.get(crew, blocks.clear()), places, chance)
        found[crew, "missing_where_called"] = missing_where_called(own, chance)
    return found


def _by_crew(table: pl.DataFrame) -> dict[str, pl.DataFrame]:
    key = [column for column in ("install_id", "measure", "member", "steps") if column in table.columns]
    return {str(crew): rows for (crew,), rows in table.sort(key).partition_by("crew", as_dict=True).items()}


def _coarse(recording_steps: pl.DataFrame) -> set[str]:
    """Crews that write to halves or coarser most of what the other crews usually write finer.

    A crew without others is held to whole units.
    """
    known = recording_steps.filter(pl.col("step").is_not_null())
    pairs = known.join(known.select("measure", other="crew", usual="step"), on="measure")
    usual = pairs.filter(pl.col("crew") != pl.col("other")).group_by("crew", "measure").agg(pl.col("usual").median())
    beside = known.join(usual, on=["crew", "measure"], how="left").with_columns(pl.col("usual").fill_null(1.0))
    is_coarse = (pl.col("step") >= ROUNDED_FROM) & (pl.col("step") > pl.col("usual"))
    could_be = beside.with_columns(is_coarse.alias("is_coarse")).filter(
        pl.col("is_coarse") | (pl.col("usual") < ROUNDED_FROM)
    )
    shares = could_be.group_by("crew").agg(
        (pl.col("is_coarse") * pl.col("readings")).sum() / pl.col("readings").sum(), pl.col("readings").sum().alias("n")
    )
    return {crew for crew, share, n in shares.iter_rows() if share > MOST and n >= FEWEST_DIGITS}


def _judged(rows: list[tuple[str, str, Tested]], coarse: set[str]) -> pl.DataFrame:
    p_values = [np.nan if tested.p_value is None else tested.p_value for _, _, tested in rows]
    lines = [
        (crew, test, t.statistic, t.p_value, None if np.isnan(q) else float(q), t.doors,
         _verdict(t, float(q), test == "last_digits" and crew in coarse))
        for (crew, test, t), q in zip(rows, q_values(p_values), strict=True)
    ]  # fmt: skip
    return pl.DataFrame(lines, schema=SCHEMA, orient="row")


def _verdict(tested: Tested, q: float, is_coarse: bool) -> str:
    is_found = tested.is_material and q <= Q_DOUBTFUL
    if is_found and not tested.is_rounded:
        return "doubtful"
    if is_found or is_coarse:
        return "rounded"
    return "too_few" if tested.p_value is None else "plausible"

"""How fitters write readings down: other units, "ok" instead of a number, rounding, copying the last door."""

from dataclasses import dataclass

import numpy as np
import polars as pl

from pipeline.demo.arrays import Flags
from pipeline.demo.cells import as_text

OK_WORDS = ("ok", "OK", "fine", "level", "✓")
COPIES = 0.25
JAMBS = ("jamb_face", "jamb_edge")


@dataclass(frozen=True)
class Habits:
    """Which crew does what (names of crews).

    centimetres, inches   write long lengths in cm, gaps in inches
    degrees               reads jambs with an angle gauge: one lean in degrees in place of three offsets
    turns                 counts quarter turns of the cams in place of millimetres
    rounds_to_mm          rounds every length to a whole millimetre
    copies                copies the jambs of the door before on some doors
    """

    centimetres: str
    inches: str
    degrees: str
    turns: str
    rounds_to_mm: str
    copies: str


def written_down(readings: pl.DataFrame, habits: Habits, rng: np.random.Generator) -> pl.DataFrame:
    """The readings as text cells, as the crews write them. readings: canonical, in mm."""
    copied = copied_jambs(readings, habits.copies, COPIES, rng)
    rounded = rounded_to_mm(copied, habits.rounds_to_mm)
    leaned = _as_degrees(rounded, habits.degrees)
    return _with_ok(as_text(_in_own_units(leaned, habits, rng)), rng)


def _is(readings: pl.DataFrame, crew: str, measures: tuple[str, ...]) -> Flags:
    return ((readings["read_by"] == crew) & readings["measure"].is_in(measures)).to_numpy()


def rounded_to_mm(readings: pl.DataFrame, crew: str) -> pl.DataFrame:
    """The same readings, those of one crew to the whole millimetre."""
    is_own = (pl.col("read_by") == crew) & (pl.col("unit") == "mm")
    return readings.with_columns(pl.when(is_own).then(pl.col("value").round()).otherwise("value").alias("value"))


def copied_jambs(readings: pl.DataFrame, crew: str, share: float, rng: np.random.Generator) -> pl.DataFrame:
    """The same readings; a share of one crew's doors have the jamb readings of its door before."""
    own = readings.filter((pl.col("read_by") == crew) & pl.col("measure").is_in(JAMBS))
    doors = own["install_id"].unique(maintain_order=True)
    before = dict(zip(doors[1:], doors[:-1], strict=True))
    chosen = {door: before[door] for door in before if rng.random() < share}
    place = ["measure", "member", "station"]
    ranked = own.with_columns(pl.col("position_mm").rank("dense").over("install_id", *place).alias("rank"))
    old = ranked.select("install_id", *place, "rank", copy="value")
    new = ranked.with_columns(source=pl.col("install_id").replace_strict(chosen, default=None, return_dtype=pl.String))
    keys = {"left_on": ["source", *place, "rank"], "right_on": ["install_id", *place, "rank"]}
    joined = new.join(old, **keys, how="left", nulls_equal=True, maintain_order="left")  # type: ignore[arg-type]
    found = joined.select("install_id", *place, "position_mm", "copy").drop_nulls("copy")
    return readings.join(
        found, on=["install_id", *place, "position_mm"], how="left", nulls_equal=True, maintain_order="left"
    ).with_columns(pl.coalesce("copy", "value").alias("value")).drop("copy")  # fmt: skip


def _as_degrees(readings: pl.DataFrame, crew: str) -> pl.DataFrame:
    """One crew's three offsets of a jamb become one lean: an angle, with the height it was read over."""
    own = pl.Series(_is(readings, crew, JAMBS))
    keys = ["install_id", "measure", "member"]
    ends = readings.filter(own).sort(*keys, "position_mm", maintain_order=True).group_by(keys, maintain_order=True)
    lean = (pl.col("value").last() - pl.col("value").first()) / (
        pl.col("position_mm").last() - pl.col("position_mm").first()
    )
    leans = ends.agg(
        pl.col("station").first(),
        pl.col("position_mm").last(),
        (lean.arctan() * 180 / np.pi).round(2).alias("value"),
        pl.lit("deg").alias("unit"),
        pl.col("instrument", "read_on", "read_by").first(),
    )
    return pl.concat([readings.filter(~own), leans.select(readings.columns)])


def _in_own_units(readings: pl.DataFrame, habits: Habits, rng: np.random.Generator) -> pl.DataFrame:
    long = ("aperture_width", "aperture_height", "aperture_diagonal", "frame_width", "frame_height", "frame_diagonal",
            "leaf_diagonal", "clear_height")  # fmt: skip
    gaps = ("head_gap", "threshold_gap", "side_gap", "perimeter_gap")
    often, seldom = rng.random(readings.height) < 0.7, rng.random(readings.height) < 0.1
    readings = _rescaled(readings, _is(readings, habits.centimetres, long) & often, (0.1, 2, "cm"))
    readings = _rescaled(readings, readings["measure"].is_in(long).to_numpy() & seldom, (0.001, 4, "m"))
    readings = _rescaled(readings, _is(readings, habits.inches, gaps), (1 / 25.4, 3, "in"))
    return _rescaled(readings, _is(readings, habits.turns, ("seal_compression",)), (1.0, 1, "quarter_turn"))


def _rescaled(readings: pl.DataFrame, rows: Flags, unit: tuple[float, int, str]) -> pl.DataFrame:
    factor, decimals, name = unit
    is_own = pl.lit(pl.Series(rows)) & (pl.col("unit") == "mm")
    return readings.with_columns(
        pl.when(is_own).then((pl.col("value") * factor).round(decimals)).otherwise("value").alias("value"),
        pl.when(is_own).then(pl.lit(name)).otherwise("unit").alias("unit"),
    )


def _with_ok(written: pl.DataFrame, rng: np.random.Generator) -> pl.DataFrame:
    """A few cells hold a word in place of a number."""
    words = pl.Series(rng.choice(OK_WORDS, written.height))
    is_word = pl.Series(rng.random(written.height) < 0.004)
    return written.with_columns(pl.when(pl.lit(is_word)).then(pl.lit(words)).otherwise("value").alias("value"))

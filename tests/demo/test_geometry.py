"""Readings without error give back the deviations that were drawn, by the formulas written out here anew."""

import numpy as np
import polars as pl
import pytest

from pipeline.demo import simulate
from pipeline.demo.geometry_frame import diagonals_for, frame_blocks
from pipeline.demo.geometry_leaves import leaf_blocks, tapers_of_lowest_leaf
from pipeline.demo.geometry_sill import sill_blocks
from pipeline.demo.readings import MEASURES
from pipeline.demo.simulate import Firm

DOORS = 500


@pytest.fixture(scope="module")
def firm() -> Firm:
    return simulate(doors=DOORS, crews=6, seed=11)


@pytest.fixture(scope="module")
def readings(firm: Firm) -> pl.DataFrame:
    part, rng = firm._part(slice(0, DOORS)), np.random.default_rng(1)
    makers = (frame_blocks, sill_blocks, leaf_blocks)
    return pl.concat([block for maker in makers for block in maker(part, MEASURES, rng)])


def of(readings: pl.DataFrame, measure: str) -> pl.DataFrame:
    return readings.filter(pl.col("measure") == measure)


def by_door(found: pl.DataFrame) -> np.ndarray:
    assert found.height == DOORS
    return found.sort("door")["value"].to_numpy()


def lines(table: pl.DataFrame, keys: list[str]) -> pl.DataFrame:
    """Slope x span and largest residual of the least-squares line, per key."""
    position, value = pl.col("position_mm"), pl.col("value")
    slope = pl.cov(position, value, ddof=1) / position.var()
    residual = value - value.mean() - slope * (position - position.mean())
    return table.group_by(keys).agg(
        level=(slope * (position.max() - position.min())), bow=residual.abs().max(), places=pl.len()
    )


@pytest.mark.parametrize(
    ("deviation", "measure"),
    [
        ("aperture_width_spread", "aperture_width"),
        ("aperture_height_spread", "aperture_height"),
        ("head_parallel_error", "clear_height"),
        ("head_gap_spread", "head_gap"),
        ("threshold_gap_spread", "threshold_gap"),
        ("seal_compression_spread", "seal_compression"),
    ],
)
def test_spreads_are_those_drawn(firm: Firm, readings: pl.DataFrame, deviation: str, measure: str) -> None:
    spread = (pl.col("value").max() - pl.col("value").min()).alias("value")
    found = by_door(of(readings, measure).group_by("door").agg(spread))
    np.testing.assert_allclose(found, firm.true[deviation], atol=1e-6)


def test_extremes_are_those_drawn(firm: Firm, readings: pl.DataFrame) -> None:
    least, most = pl.col("value").min(), pl.col("value").max()
    low = by_door(of(readings, "seal_compression").group_by("door").agg(least))
    packers = by_door(of(readings, "hinge_packers").group_by("door").agg(most))
    tilt = by_door(of(readings, "sill_tilt").group_by("door").agg((-least).clip(0.0)))
    np.testing.assert_allclose(low, firm.true["seal_compression_low"], atol=1e-9)
    np.testing.assert_array_equal(packers, firm.true["hinge_packer_count"])
    np.testing.assert_allclose(tilt, firm.true["sill_tilt_in"], atol=1e-9)


def test_sill_and_head_lines_are_those_drawn(firm: Firm, readings: pl.DataFrame) -> None:
    sill = lines(of(readings, "sill_height"), ["door"]).sort("door")
    # stations are whole millimetres, so a bow is not quite free of slope
    np.testing.assert_allclose(sill["level"].abs().to_numpy(), firm.true["sill_level_error"], atol=0.02)
    np.testing.assert_allclose(sill["bow"].to_numpy(), firm.true["sill_bow"], atol=0.02)
    for measure, deviation in (("sill_line", "sill_line_bow"), ("clear_height", "head_bow")):
        found = lines(of(readings, measure), ["door"]).sort("door")["bow"].to_numpy()
        np.testing.assert_allclose(found, firm.true[deviation], atol=0.02)


@pytest.mark.parametrize("measure", ["aperture_diagonal", "frame_diagonal"])
def test_diagonals_differ_as_drawn(firm: Firm, readings: pl.DataFrame, measure: str) -> None:
    difference = (pl.col("value").max() - pl.col("value").min()).alias("value")
    found = by_door(of(readings, measure).group_by("door").agg(difference))
    np.testing.assert_allclose(found, firm.true[f"{measure}_difference"], atol=1e-6)


def test_six_lengths_of_a_flat_frame_close() -> None:
    # The worked example of a true planar frame: sides 4000, 2101.002, 4001.000, 2100.001, diagonals 4520.864, 4515.972
    sides = np.array([[4000.0, 2101.002, 4001.0, 2100.001]])
    rising, falling = diagonals_for(sides, np.array([4520.864 - 4515.972]))[0]
    assert rising == pytest.approx(4520.864, abs=0.01)
    assert falling == pytest.approx(4515.972, abs=0.01)


def test_jambs_lean_and_twist_as_drawn(firm: Firm, readings: pl.DataFrame) -> None:
    jambs = readings.filter(pl.col("measure").is_in(["jamb_face", "jamb_edge"]))
    leans = lines(jambs, ["door", "measure", "member"])
    plumb = by_door(leans.group_by("door").agg(pl.col("level").abs().max().alias("value")))
    np.testing.assert_allclose(plumb, firm.true["jamb_plumb_error"], atol=1e-6)
    faces = leans.filter(pl.col("measure") == "jamb_face").pivot("member", index="door", values="level")
    twist = faces.select("door", value=(pl.col("left_jamb") - pl.col("right_jamb")).abs())
    np.testing.assert_allclose(by_door(twist), firm.true["jamb_twist"], atol=1e-6)


def test_fixings_are_spaced_as_drawn(firm: Firm, readings: pl.DataFrame) -> None:
    fixings = of(readings, "fixing").sort("door", "member", "position_mm", "value")
    steps = fixings.group_by("door", "member").agg(pl.col("value").sort().diff().max())
    frame = by_door(steps.filter(pl.col("member") != "sill").group_by("door").agg(pl.col("value").max()))
    sill = by_door(steps.filter(pl.col("member") == "sill").select("door", "value"))
    corner = by_door(fixings.group_by("door").agg(pl.col("value").min()))
    np.testing.assert_allclose(frame, firm.true["fixing_spacing"], atol=1e-6)
    np.testing.assert_allclose(sill, firm.true["sill_fixing_spacing"], atol=1e-6)
    np.testing.assert_allclose(corner, firm.true["fixing_corner_distance"], atol=1e-6)


def test_bare_fixings_are_as_many_as_drawn(firm: Firm, readings: pl.DataFrame) -> None:
    jambs = readings.filter(pl.col("member").is_in(["left_jamb", "right_jamb"]))
    fixings, packers = of(jambs, "fixing"), of(jambs, "packer")
    pairs = fixings.join(packers, on=["door", "member"], how="left", suffix="_packer")
    gap = pl.col("value_packer") - pl.col("value")
    beside = pairs.group_by("door", "member", "value").agg(
        above=gap.is_between(0, 100).any(), below=gap.is_between(-100, 0).any()
    )
    is_packed = pl.col("above").fill_null(value=False) & pl.col("below").fill_null(value=False)
    bare = by_door(beside.group_by("door").agg((~is_packed).mean().alias("value")))
    np.testing.assert_allclose(bare, firm.true["unpackered_fixings"], atol=1e-9)


def test_leaves_drop_as_drawn_and_for_the_reason_drawn(firm: Firm, readings: pl.DataFrame) -> None:
    gaps = readings.filter(pl.col("measure").is_in(["head_gap", "threshold_gap", "side_gap"]))
    wide = gaps.with_columns(name=pl.col("measure") + " " + pl.col("station"))
    wide = wide.pivot("name", index=["door", "member"], values="value").sort("door")
    door = wide["door"].to_numpy()
    turn = (
        firm.doors.column("width_mm")[door] / firm.doors.column("leaves")[door] / firm.doors.column("height_mm")[door]
    )
    above = pl.col("head_gap lock") - pl.col("head_gap hinge")
    below = pl.col("threshold_gap lock") - pl.col("threshold_gap hinge")
    beside = pl.col("side_gap top") - pl.col("side_gap bottom")
    leaves = wide.with_columns(drop=(above - below) / 2, rotation=beside * pl.Series(turn), taper=beside.abs())
    worst = leaves.sort("drop").group_by("door").last().sort("door")
    rotation = firm.true["leaf_drop_rotation"]
    np.testing.assert_allclose(worst["rotation"].to_numpy(), rotation, atol=1e-9)
    racking = (worst["drop"] - worst["rotation"]).to_numpy()
    np.testing.assert_allclose(racking, firm.true["leaf_drop_racking"], atol=1e-9)
    under = by_door(leaves.group_by("door").agg(below.abs().max().alias("value")))
    np.testing.assert_allclose(under, tapers_of_lowest_leaf(firm.true)[1], atol=1e-9)
    taper = by_door(leaves.group_by("door").agg(pl.col("taper").max().alias("value")))
    np.testing.assert_allclose(taper, firm.true["side_gap_taper"], atol=1e-9)


def test_leaf_diagonals_differ_as_drawn(firm: Firm, readings: pl.DataFrame) -> None:
    leaves = of(readings, "leaf_diagonal").group_by("door", "member").agg(
        value=pl.col("value").max() - pl.col("value").min()
    )  # fmt: skip
    found = by_door(leaves.group_by("door").agg(pl.col("value").max()))
    np.testing.assert_allclose(found, firm.true["leaf_diagonal_difference"], atol=1e-9)


def test_the_tightest_gap_falls_short_as_drawn(firm: Firm, readings: pl.DataFrame) -> None:
    # pvc-u, dark, 3.0-4.5 m: 11 mm; aluminium up to 3.0 m: 5 mm (new-home warranty article, see gaps.toml)
    installs = firm.doors.installs.with_row_index("door")
    dark = (pl.col("material") == "pvc-u") & (pl.col("colour") == "dark") & pl.col("width_mm").is_between(3001, 4500)
    metal = (pl.col("material") == "aluminium") & (pl.col("width_mm") <= 3000)
    tightest = of(readings, "perimeter_gap").group_by("door").agg(pl.col("value").min())
    for doors, gap in ((installs.filter(dark), 11.0), (installs.filter(metal), 5.0)):
        table = doors.select(pl.col("door").cast(pl.Int64)).join(tightest, on="door").sort("door")
        short = (gap - table["value"]).clip(0.0).to_numpy()
        assert len(short) > 5
        np.testing.assert_allclose(short, firm.true["perimeter_gap_shortfall"][table["door"].to_numpy()], atol=1e-9)

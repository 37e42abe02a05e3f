"""Which way crews err: signs as the axes have them, sides only where chance and the instrument are ruled out."""

import numpy as np
import polars as pl
import pytest

from pipeline.model.marts.usual_sides import build

DOORS = """
    install_id | crew | fitted_on  | width_mm | height_mm | leaves
    D1         | A    | 2024-01-10 | 3000     | 2100      | 3
    D2         | A    | 2024-01-10 | 3000     | 2100      | 3
"""


def sums(run_model, readings):
    head = "install_id | measure | member | station | position_mm | value | unit\n"
    rows = run_model("side_sums", installs=DOORS, readings=head + readings)
    return {row[:3]: row[3:] for row in rows.pick("measure", "member", "doors", "total", "doors_plus", "doors_minus")}


def test_signs_are_those_of_the_axes_seen_from_inside(run_model):
    # A left jamb whose top stands 3 mm farther right than its foot leans in; a right end 2 mm higher; the rising
    # diagonal 4 mm longer, as of a frame whose top has moved right (square on d1 - d2 of a parallelogram).
    found = sums(
        run_model,
        """D1 | jamb_edge | left_jamb | | 0    | 10 | mm
           D1 | jamb_edge | left_jamb | | 2000 | 13 | mm
           D2 | jamb_edge | left_jamb | | 0    | 10 | mm
           D2 | jamb_edge | left_jamb | | 2000 | 9  | mm
           D1 | sill_height | sill | | 0    | 0 | mm
           D1 | sill_height | sill | | 3000 | 2 | mm
           D1 | frame_diagonal | | rising  | | 3664 | mm
           D1 | frame_diagonal | | falling | | 3660 | mm
           D1 | sill_tilt | sill | | 0    | -1 | mm
           D1 | sill_tilt | sill | | 3000 | -3 | mm""",
    )
    assert found["jamb_edge", "left_jamb", 2] == (pytest.approx(2), 1, 1)
    assert found["sill_height", "", 1] == (pytest.approx(2), 1, 0)
    assert found["frame_diagonal", "", 1] == (pytest.approx(4), 1, 0)
    assert found["sill_tilt", "", 1] == (pytest.approx(-2), 0, 1)


def test_diagonals_without_names_have_no_sign(run_model):
    lengths = "D1 | frame_diagonal | | | | 3664 | mm\n D1 | frame_diagonal | | | | 3660 | mm"
    assert sums(run_model, lengths) == {}


def sampled(**means):
    """Sums of 60 doors a crew with a spread of 1 mm about its mean."""
    rng = np.random.default_rng(3)
    rows = []
    for crew, mean in means.items():
        values = rng.normal(0.0, 1.0, 60)
        values = mean + values - values.mean()
        plus = int((values > 0).sum())
        row = {"crew": crew, "deviation": "jamb_plumb_error", "measure": "jamb_edge", "member": "left_jamb"}
        row |= {"doors": 60, "doors_plus": plus, "doors_minus": 60 - plus}
        rows.append(row | {"total": values.sum(), "squares": ((values - values.mean()) ** 2).sum()})
    return pl.DataFrame(rows)


def test_a_side_needs_both_an_interval_off_nothing_and_half_a_millimetre():
    found = build(sampled(leans=1.5, little=0.4, none=0.0, other=-1.0))
    assert dict(found.select("crew", "side").rows()) == {"leans": 1, "little": 0, "none": 0, "other": -1}
    assert found.filter(pl.col("crew") == "little")["mean_low"].item() > 0
    told = found.filter(pl.col("side") != 0)
    assert (told["mean_low"] * told["mean_high"] > 0).all()
    assert (told["mean"].sign().cast(pl.Int64) == told["side"]).all()


def test_too_few_doors_have_no_interval_and_no_side():
    few = sampled(leans=1.5).with_columns(doors=9, total=13.5, squares=0.5)
    row = build(few).to_dicts()[0]
    assert (row["side"], row["mean_low"], row["q_value"]) == (None, None, None)


def test_of_crews_without_a_side_hardly_any_is_said_to_have_one():
    # Benjamini and Hochberg: with nothing to find, a finding comes up in one of twenty firms at most.
    rng = np.random.default_rng(5)
    wrong = 0
    for _ in range(100):
        values = rng.normal(0.0, 2.0, (12, 25))
        frame = pl.DataFrame(
            {
                "crew": [f"K{n}" for n in range(12)], "deviation": "sill_level_error", "measure": "sill_height",
                "member": "", "doors": 25, "doors_plus": (values > 0).sum(axis=1),
                "doors_minus": (values < 0).sum(axis=1),
                "total": values.sum(axis=1), "squares": ((values - values.mean(axis=1)[:, None]) ** 2).sum(axis=1),
            }
        )  # fmt: skip
        wrong += bool((build(frame)["side"] != 0).any())
    assert wrong <= 12

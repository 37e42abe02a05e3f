"""Doors inside and beyond a limit are held against how the other crews' doors spread, in multiples of their median."""

import numpy as np
import polars as pl
import pytest

from pipeline.model.records_at_limits import _share_inside, inside_limits


def shapes_of(values: dict[str, np.ndarray], step: float = 0.0) -> pl.DataFrame:
    """The table limit_shapes of one deviation whose limit is 1. values: by crew, in multiples of the step."""
    rows = []
    for crew, ratios in values.items():
        middle = float(np.median(ratios))
        upper = ratios[ratios >= middle]
        bins = np.floor(20 * np.log(upper / middle)).astype(int)
        for bin_ in np.unique(bins):
            part = upper[bins == bin_]
            sides = int(((part > 0.8) & (part <= 1 + 1e-9)).sum()), int((part > 1 + 1e-9).sum())
            rows.append((crew, "sill_level_error", int(bin_), middle, len(part), *sides, step))
    names = ["crew", "deviation", "bin", "middle", "doors", "inside", "beyond", "step"]
    return pl.DataFrame(rows, schema=names, orient="row")


def crews(rng: np.random.Generator) -> dict[str, np.ndarray]:
    """Twelve crews that differ up to threefold in how careless they are."""
    return {f"crew {i:02d}": rng.gamma(2.0, 0.12 * (1 + 2 * i / 11), 400) for i in range(12)}


def test_the_share_inside_is_that_of_an_exponential_tail() -> None:
    """Exponential beyond the median: past 0.8 of the limit, 1 - exp(-0.2 / mean) lie inside it."""
    mean, middle = 0.4, 0.4 * np.log(2)
    edges = middle * np.exp(np.arange(120) / 20)
    others = 1e6 * (np.exp(-edges[:-1] / mean) - np.exp(-edges[1:] / mean))
    assert _share_inside(others, middle, 0.0) == pytest.approx(1 - np.exp(-0.2 / mean), abs=0.01)


def test_careful_and_careless_crews_are_alike_in_it() -> None:
    doubted = [
        tested.is_material and (tested.p_value or 1.0) < 0.001
        for seed in range(10)
        for tested in inside_limits(shapes_of(crews(np.random.default_rng(seed)))).values()
    ]
    assert len(doubted) == 120
    assert not any(doubted)


def test_a_door_written_exactly_at_the_limit_is_inside() -> None:
    """A limit of 3 mm, readings to half a millimetre, every crew's median at 2 mm: 2.5 and 3 inside, 3.5 on beyond."""
    doors = {4: 100.0, 5: 60.0, 6: 40.0, 7: 20.0, 8: 10.0, 9: 5.0}  # by sixths of the limit
    others = np.zeros(30)
    for sixths, n in doors.items():
        others[int(20 * np.log(sixths / 4))] += n
    assert _share_inside(others, 4 / 6, 1 / 6) == pytest.approx(100 / 135, abs=0.03)


def test_where_a_step_is_a_fifth_of_the_limit_nothing_is_near_it() -> None:
    rng = np.random.default_rng(1)
    coarse = {name: np.maximum(np.round(4 * values), 1) / 4 for name, values in crews(rng).items()}
    assert all(tested.p_value is None for tested in inside_limits(shapes_of(coarse, 0.25)).values())


def test_the_crew_that_writes_what_is_out_inside_stands_out() -> None:
    rng = np.random.default_rng(3)
    values = crews(rng)
    own = values["crew 06"]
    values["crew 06"] = np.where(own > 1, rng.uniform(0.85, 0.97, len(own)), own)
    found = inside_limits(shapes_of(values))
    assert min(found, key=lambda crew: found[crew].p_value or 1.0) == "crew 06"
    assert (found["crew 06"].p_value or 1.0) < 1e-4
    assert found["crew 06"].is_material


def test_without_doors_near_a_limit_nothing_is_tested() -> None:
    assert inside_limits(shapes_of({}).clear()) == {}
    far = inside_limits(shapes_of({name: values / 20 for name, values in crews(np.random.default_rng(1)).items()}))
    assert {tested.p_value for tested in far.values()} == {None}

"""The calibration study in small: one firm in each of three scenarios, and the records of a fourth.

Bounds are so loose that chance does not break them. The whole study is `make calibrate`; what it found stands in
figures.md.
"""

from datetime import date

import polars as pl
import pytest

from pipeline.demo.scenarios import SCENARIOS
from tests.calibration.figures import page
from tests.calibration.lines import LINES, answered, causes, found, strong
from tests.calibration.parts import PARTS, Part
from tests.calibration.parts.recheck import slope
from tests.calibration.study import Kept, gathered, in_turn, measured, seeds_of

# What is measured where: everything in each would take two minutes.
MEASURED = {
    "null": {"pairs", "causes", "crews", "credibility", "curves"},
    "confounded crews": {part.name for part in PARTS} - {"curves", "training"},
    "missing because bad": {"pairs"},
    "dishonest crew": {"credibility"},
}


def parts_of(scenario: str) -> tuple[Part, ...]:
    return tuple(part for part in PARTS if part.name in MEASURED[scenario])


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> Kept:
    folder = Kept(tmp_path_factory.mktemp("kept"))
    for scenario, seed in in_turn(MEASURED, 1, 1):
        assert measured(scenario, seed, folder, parts_of(scenario))
    return folder


@pytest.fixture(scope="module")
def frames(kept: Kept) -> dict[str, pl.DataFrame]:
    return gathered(kept, 1)


def figure(name: str, frames: dict[str, pl.DataFrame], scenario: str | None = None) -> float:
    """One line's figure, of a scenario or of all four."""
    (line,) = [line for line in LINES if line.name == name]
    table = frames[line.part]
    value = line.figure(table if scenario is None else table.filter(pl.col("scenario") == scenario))
    assert value is not None
    return value


@pytest.mark.slow
def test_intervals_hold_the_truth_in_hard_firms_too(frames: dict[str, pl.DataFrame]) -> None:
    assert answered(frames["pairs"]).height > 900
    assert figure("coverage, answered pairs", frames) >= 0.93
    assert figure("coverage, causes", frames) >= 0.88
    for scenario in ("null", "confounded crews", "missing because bad"):
        assert figure("coverage, answered pairs", frames, scenario) >= 0.90


@pytest.mark.slow
def test_nothing_strong_is_found_where_there_is_nothing(frames: dict[str, pl.DataFrame]) -> None:
    assert strong(frames["pairs"].filter(pl.col("scenario") == "null")).height <= 3
    assert strong(frames["pairs"]).height > 12
    assert strong(frames["pairs"].filter(pl.col("scenario") != "null"))["is_cause"].mean() >= 0.85


@pytest.mark.slow
def test_estimates_are_neither_shrunk_nor_wide(frames: dict[str, pl.DataFrame]) -> None:
    assert 0.85 <= figure("estimate / truth", frames, "confounded crews") <= 1.15
    assert causes(answered(frames["pairs"])).height > 50
    assert figure("width / ideal", frames, "confounded crews") <= 1.25
    assert figure("width / ideal", frames, "missing because bad") <= 1.9
    assert figure("power / ideal", frames, "confounded crews") >= 0.65


@pytest.mark.slow
def test_crews_are_compared_fairly(frames: dict[str, pl.DataFrame]) -> None:
    assert figure("fair ratios hold", frames) >= 0.78
    assert figure("what goes through the steps holds", frames, "confounded crews") >= 0.8
    assert figure("what is left of crews holds", frames, "confounded crews") >= 0.8
    assert figure("out_share ranks", frames, "confounded crews") >= 0.93


@pytest.mark.slow
def test_honest_crews_are_not_doubted(frames: dict[str, pl.DataFrame]) -> None:
    assert figure("honest crews doubted, pooled", frames) <= 0.04
    assert found("copied")(frames["credibility"]) == 1.0
    assert found("flat")(frames["credibility"]) == 1.0
    assert found("rounded")(frames["credibility"]) == 0.0


@pytest.mark.slow
def test_what_accounts_for_a_callback_is_told(frames: dict[str, pl.DataFrame]) -> None:
    assert figure("cause shares, error", frames, "confounded crews") <= 0.13
    assert figure("first cause right", frames, "confounded crews") >= 0.70
    assert figure("cause shares, error", frames, "null") <= 0.06


@pytest.mark.slow
def test_risks_of_new_doors_differ_as_much_as_told(frames: dict[str, pl.DataFrame]) -> None:
    assert 0.6 <= figure("recheck slope", frames, "confounded crews") <= 1.5


@pytest.mark.slow
def test_the_year_ahead_is_told(frames: dict[str, pl.DataFrame]) -> None:
    assert figure("outlook total holds", frames) >= 0.5
    assert figure("outlook width / total", frames) <= 0.45


@pytest.mark.slow
def test_curves_hold_where_there_is_nothing_and_move_no_limit(frames: dict[str, pl.DataFrame]) -> None:
    assert frames["curves"].height > 20
    assert figure("curves hold at each value", frames, "null") >= 0.9
    assert figure("1.5 times the risk held", frames, "null") >= 0.95
    assert (frames["curves"]["advice"] == "keep").mean() >= 0.98


@pytest.mark.slow
def test_what_is_measured_is_not_measured_again(kept: Kept) -> None:
    assert not any(measured(scenario, seed, kept, parts_of(scenario)) for scenario, seed in in_turn(MEASURED, 1, 1))


def test_no_two_scenarios_share_a_firm() -> None:
    seeds = [seed for scenario in SCENARIOS for seed in seeds_of(scenario, 200, 1)]
    assert len(set(seeds)) == 200 * len(SCENARIOS)


def test_the_page_says_which_line_does_not_hold() -> None:
    pair = {"scenario": "plain", "seed": 1, "is_cause": True, "estimate": 1.0, "low": 0.5, "high": 1.5}
    rest = {"evidence": "strong", "ideal_se": 0.25, "ideal_contrast_se": 0.2, "events": 50, "is_strong_in_ideal": True}
    pairs = [{**pair, **rest, "total_effect": truth} for truth in [1.0] * 93 + [2.0] * 7]
    holds, fails = (page({"pairs": pl.DataFrame(rows)}, 1, date(2026, 1, 2)) for rows in (pairs, pairs[1:]))
    assert "| plain | 0.930 | 0.930 | 0.930 | 0.000 | 1.020 | 1.000 | 1.000 | 1.000 |" in holds
    assert "| plain | **0.929** (at least 0.93) | 0.929 |" in fails
    assert "| null | – |" in holds
    assert "hold everywhere. These do not:\n\n- coverage, answered pairs: plain **0.929** (at least 0.93)\n" in fails
    assert "These do not" not in holds
    assert "2026-01-02" in holds


def test_every_line_has_a_bound_somewhere() -> None:
    for line in LINES:
        bounds = {line.bounds(scenario) for scenario in (*SCENARIOS, "")}
        assert bounds != {(None, None)} or line.name == "honest crews doubted"


def test_the_slope_of_risks_is_one_where_they_are_right_and_half_where_differences_are_doubled() -> None:
    risks = pl.DataFrame({"fault": ["binding"] * 4 + ["draught"] * 4, "risk": [0.01, 0.02, 0.04, 0.08] * 2})
    right = risks.with_columns(true=pl.col("risk") * pl.when(pl.col("fault") == "binding").then(1.0).otherwise(3.0))
    assert slope(right) == pytest.approx(1.0)
    assert slope(right.with_columns(risk=pl.col("risk") ** 2)) == pytest.approx(0.5)
    assert slope(right.with_columns(risk=pl.lit(0.05))) is None

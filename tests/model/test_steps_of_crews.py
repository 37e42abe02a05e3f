"""What of a crew's ratio goes through its steps: firms whose truth is known, and doors worked out on paper."""

from functools import cache

import numpy as np
import polars as pl
import pytest

from pipeline.catalogue import catalogue_tables, load_catalogue
from pipeline.demo import simulate
from pipeline.demo.true_ratios import true_crew_ratios
from pipeline.model.adjusters import places
from pipeline.model.covariates import Columns
from pipeline.model.crew_values import crew_values, passed_forward
from pipeline.model.pair_design import Firm
from pipeline.model.risk import FirstFaults, Watched
from pipeline.model.steps_of_crews import crew_steps
from pipeline.model.study import Study
from tests.calibration.in_memory import tables_in_memory

CREWS, DOORS = 6, 400
PLACES = places(catalogue_tables(load_catalogue())["catalogue_deviations"])
LEVEL, GAPS, FAULT = "sill_level_error", "threshold_gap_spread", "binding"
# all that differs between crews is how they fit; nothing that differs is how they fit
FIRMS = {
    "all through steps": {"doors": 3000, "crews": 12, "crew_frailty": 0.0, "careless_sd": 0.3},
    "nothing through steps": {"doors": 3000, "crews": 12, "crew_frailty": 0.4, "effect_scale": 0.0},
}


@cache
def beside_truth(kind: str, seed: int) -> pl.DataFrame:
    """callback_rates of a firm beside its true ratios, one row per crew."""
    firm = simulate(seed=seed, **FIRMS[kind])
    found = tables_in_memory(firm, ("callback_rates",))["callback_rates"]
    told = ["fair_ratio", "steps_ratio", "steps_low", "steps_high", "rest_ratio", "rest_low", "rest_high"]
    truth = true_crew_ratios(firm, draws=40).rename({"steps_ratio": "true_steps", "rest_ratio": "true_rest"})
    return truth.join(found.select("crew", *told), on="crew")


def held(rows: pl.DataFrame, part: str) -> float:
    return rows.select(pl.col(f"true_{part}").is_between(f"{part}_low", f"{part}_high").mean()).item()


@pytest.mark.parametrize("kind", FIRMS)
def test_intervals_hold_what_goes_through_the_steps_and_what_is_left(kind):
    rows = pl.concat([beside_truth(kind, seed) for seed in (1, 2)])
    assert held(rows, "steps") >= 0.87
    assert held(rows, "rest") >= 0.87


def test_where_all_goes_through_the_steps_nothing_is_left_that_chance_does_not_explain():
    rows = pl.concat([beside_truth("all through steps", seed) for seed in (1, 2)])
    assert rows["true_steps"].log().std() > 0.3  # crews truly differ
    assert rows.select(pl.corr(pl.col("steps_ratio").log(), pl.col("true_steps").log())).item() > 0.95
    assert rows.select(pl.lit(1.0).is_between("rest_low", "rest_high").mean()).item() >= 0.95
    assert rows["rest_ratio"].log().std() < 0.1


def test_where_nothing_goes_through_the_steps_all_is_left():
    rows = pl.concat([beside_truth("nothing through steps", seed) for seed in (1, 2)])
    assert rows["true_rest"].log().std() > 0.25
    assert rows["steps_ratio"].log().abs().max() < 0.2
    assert rows.select(pl.lit(1.0).is_between("steps_low", "steps_high").mean()).item() >= 0.87
    assert rows.select(pl.corr(pl.col("rest_ratio").log(), pl.col("true_rest").log())).item() > 0.9


def on_paper(seed: int = 1, n_missing: int = 0, gap_of_level: float = 0.5) -> tuple[Study, FirstFaults]:
    """Doors watched for a year; a crew's sills are out by its own amount, gaps follow the sills, binding the gaps."""
    rng = np.random.default_rng(seed)
    groups = np.repeat(np.arange(CREWS), DOORS)
    level = rng.normal(groups * 0.4, 1.0)
    gaps = gap_of_level * level + rng.normal(0.0, 1.0, len(groups))
    values = np.full((len(groups), len(PLACES)), np.nan)
    values[:, PLACES[LEVEL].ordinal], values[:, PLACES[GAPS].ordinal] = level, gaps
    events = rng.poisson(0.05 * np.exp(0.6 * gaps)).clip(0, 1).astype(float)
    if n_missing:
        values[rng.choice(len(groups), n_missing, replace=False), PLACES[LEVEL].ordinal] = np.nan
    names, zeros = pl.Series([f"D{i}" for i in range(len(groups))]), np.zeros(len(groups))
    crews = pl.Series([f"Crew {group}" for group in groups])
    watched = Watched(names, crews, groups, zeros, zeros + 1)
    firm = Firm(groups, Columns((), np.zeros((len(groups), 0)), np.zeros(0)), values, PLACES)
    faults = FirstFaults(np.ones((len(groups), 1)), events[:, None], np.array([0.0, 1.0]))
    return Study(watched, firm, np.full_like(values, np.nan), {(LEVEL, FAULT), (GAPS, FAULT)}, seed), faults


def test_a_later_step_gets_no_credit_for_what_an_earlier_one_passed_on():
    study, faults = on_paper()
    found = crew_steps(study, {FAULT: (faults, faults.n_events)})
    assert found.steps == ("sill", "hanging")
    sill, hanging = (found.ratios[step + 1] / found.ratios[step] for step in (0, 1))
    # on paper the crews' gaps differ by what their sills brought, and by nothing else
    assert np.ptp(np.log(sill)) == pytest.approx(0.6 * 0.5 * 0.4 * (CREWS - 1), rel=0.25)
    assert np.abs(np.log(hanging)).max() < 0.06
    assert [found.causes[k] for k in found.leading[0]] == [LEVEL] * CREWS


def test_steps_multiply_to_the_whole_and_crews_average_to_the_firm():
    study, faults = on_paper(2)
    found = crew_steps(study, {FAULT: (faults, faults.n_events)})
    assert found.ratios[0] == pytest.approx(np.ones(CREWS))
    assert found.ratios[-1].mean() == pytest.approx(1.0, abs=1e-6)  # crews with as many doors each
    assert found.draws[-1].mean(axis=0) == pytest.approx(found.ratios[-1], rel=0.03)


def test_faults_too_rare_to_say_draw_the_ratio_to_one():
    study, faults = on_paper(3)
    rare = FirstFaults(faults.time, np.zeros_like(faults.events), faults.cuts)
    alone = crew_steps(study, {FAULT: (faults, 500)}).ratios[-1]
    beside = crew_steps(study, {FAULT: (faults, 500), "noise": (rare, 500)}).ratios[-1]
    assert beside == pytest.approx((alone + 1) / 2)
    assert crew_steps(study, {"noise": (rare, 5)}) is None


def test_doors_that_are_not_recorded_are_taken_for_the_crews_usual():
    full, half = (crew_steps(study, {FAULT: (faults, 500)}) for study, faults in (on_paper(4), on_paper(4, 1200)))
    assert half.ratios[1] == pytest.approx(full.ratios[1], rel=0.12)
    assert half.draws[1].std(axis=0).mean() > full.draws[1].std(axis=0).mean()


def test_a_crew_mean_is_drawn_to_the_firms_by_what_is_not_known():
    study, _ = on_paper(5)
    values = study.firm.values.copy()
    column = PLACES[LEVEL].ordinal
    values[DOORS * 5 + 2 :, column] = np.nan  # two doors of the last crew are left
    firm = Firm(study.firm.groups, study.firm.covariates, values, PLACES)
    found = crew_values(firm)
    at = [place.name for place in found.places].index(LEVEL)
    seen = found.values[DOORS * 5 : DOORS * 5 + 2, at].mean()
    filled = found.values[-1, at]
    assert 0 < filled / seen < 1
    assert found.mean_error[5, at] > 20 * found.mean_error[0, at]


def test_passing_forward_is_least_squares_within_crews():
    study, _ = on_paper(6)
    found = crew_values(study.firm)
    centred = (
        found.values
        - np.stack([found.values[study.firm.groups == g].mean(axis=0) for g in range(CREWS)])[study.firm.groups]
    )
    slope = np.linalg.lstsq(centred[:, :1], centred[:, 1], rcond=None)[0][0]
    assert passed_forward(found, study.firm.groups, 1) == pytest.approx(np.array([[1.0, slope]]), rel=1e-4)

"""What a step is worth, on doors whose worth is known on paper: gamma deviations and a log-linear hazard."""

import numpy as np
import polars as pl

from pipeline.catalogue import catalogue_tables, load_catalogue
from pipeline.model.adjusters import places
from pipeline.model.covariates import Columns
from pipeline.model.pair_design import Firm
from pipeline.model.risk import FirstFaults, Watched
from pipeline.model.step_gain import step_multiplier
from pipeline.model.step_priority import Gain, StepShares, Year, step_gains
from pipeline.model.study import Study
from pipeline.stats.shrinkage import beta_prior

CREWS, DOORS, RATE, SLOPE, SHAPE = 8, 200, 0.03, 0.6, 2.0
SCALES = np.linspace(0.2, 0.6, CREWS)  # mm; crews in order, the most careful first
# mean of exp(slope x deviation) over a gamma: its moment generating function
MULTIPLIER = (1 - SLOPE * SCALES) ** -SHAPE
SPARED = RATE * DOORS * (MULTIPLIER - MULTIPLIER[: CREWS // 2].mean()).clip(0.0)
DEVIATION, FAULT, STEP = "sill_level_error", "stiff_running", "sill"
EFFECT = {"fault": FAULT, "deviation": DEVIATION, "step": STEP, "role": "cause", "evidence": "strong",
          "contrast_ratio": 2.0, "events": 100}  # fmt: skip


def simulated(seed: int) -> tuple[Study, FirstFaults, StepShares]:
    """Doors watched for a year, none before, all alike but for one deviation; its limit is 1 mm."""
    rng = np.random.default_rng(seed)
    by_name = places(catalogue_tables(load_catalogue())["catalogue_deviations"])
    groups = np.repeat(np.arange(CREWS), DOORS)
    values = np.full((len(groups), len(by_name)), np.nan)
    own = rng.gamma(SHAPE, SCALES[groups])
    values[:, by_name[DEVIATION].ordinal] = own
    events = rng.poisson(RATE * np.exp(SLOPE * own)).clip(0, 1).astype(float)
    limits = np.full_like(values, np.nan)
    limits[:, by_name[DEVIATION].ordinal] = 1.0
    names = pl.Series([f"D{i}" for i in range(len(groups))])
    zeros = np.zeros(len(groups))
    watched = Watched(names, pl.Series([f"Crew {g}" for g in groups]), groups, zeros, zeros + 1)
    firm = Firm(groups, Columns((), np.zeros((len(groups), 0)), np.zeros(0)), values, by_name)
    out = np.bincount(groups, own > 1.0).astype(float)
    doors = np.full(CREWS, float(DOORS))
    shares = StepShares(out, doors, beta_prior(out, doors, avoids_zero=True))
    faults = FirstFaults(np.ones((len(groups), 1)), events[:, None], np.array([0.0, 1.0]))
    return Study(watched, firm, limits, {(DEVIATION, FAULT)}, seed), faults, shares


def gain_of(study: Study, faults: FirstFaults, shares: StepShares, **effect: object) -> dict[str, Gain]:
    by_crew = np.bincount(study.firm.groups, faults.events[:, 0])
    year = Year({FAULT: faults.n_events}, 1.0, np.ones(len(study.firm.groups)), {FAULT: by_crew})
    return step_gains(study, {FAULT: faults}, pl.DataFrame([EFFECT | effect]), {STEP: shares}, year)


def test_intervals_hold_what_is_known_on_paper() -> None:
    held, wide, points = [], [], []
    for seed in range(30):
        gain = gain_of(*simulated(seed))[STEP]
        held.append((gain.low <= SPARED) & (gain.high >= SPARED))
        wide.append(gain.high - gain.low)
        points.append(gain.priority)
    worth = SPARED > 0
    assert np.mean(held) >= 0.93
    assert np.mean(np.array(held)[:, worth]) >= 0.92
    assert np.abs(np.mean(points, axis=0)[worth] - SPARED[worth]).max() < 0.25 * SPARED.max()
    assert np.mean(wide, axis=0)[-1] < 2.5 * SPARED[-1]  # and are of use


def test_multipliers_are_those_of_the_gamma() -> None:
    study, faults, _ = simulated(1)
    found = step_multiplier(study.firm, study.limits, [study.firm.places[DEVIATION]], faults)
    assert found is not None
    drawn = np.quantile(found.draws(np.random.default_rng(1), 2000), [0.005, 0.995], axis=0)
    ratio = MULTIPLIER / MULTIPLIER[0]
    seen = np.sort(drawn / np.exp(found.log_mean[0]), axis=0)
    assert ((ratio >= seen[0] * 0.8) & (ratio <= seen[1] * 1.25)).all()
    at_limits = np.exp(found.log_at_limits - found.log_mean)
    assert (np.diff(at_limits) < 0).all()  # the more careless, the more the limits would spare
    assert (at_limits <= 1).all()


def test_a_suggestion_that_the_trade_does_not_expect_is_worth_nothing() -> None:
    study, faults, shares = simulated(2)
    unexpected = Study(study.watched, study.firm, study.limits, set(), study.seed)
    assert gain_of(unexpected, faults, shares, evidence="suggestive") == {}
    assert STEP in gain_of(unexpected, faults, shares)
    assert STEP in gain_of(study, faults, shares, evidence="suggestive")


def test_without_evidence_in_the_step_nothing_is_said() -> None:
    study, faults, shares = simulated(3)
    assert gain_of(study, faults, shares, evidence="none") == {}
